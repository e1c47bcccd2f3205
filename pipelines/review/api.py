"""Signed records for the shop's system, read only: ``/api/openapi.json`` describes it."""

from datetime import datetime
from importlib.resources import files
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Path, Query, Request
from fastapi.responses import JSONResponse, Response
from fastapi.security import HTTPBearer

from models.frozen import Frozen
from pipelines.review import media
from pipelines.review.desk import ADesk


class Problem(Frozen):
    """An error in the form of RFC 9457."""

    type: str
    title: str
    status: int


def _problem(description: str) -> dict[str, Any]:
    schema = {"$ref": "#/components/schemas/Problem"}
    return {
        "model": Problem,
        "description": description,
        "content": {"application/problem+json": {"schema": schema}},
    }


# The door checks the token before a request comes here; this only says so in the description.
_TOKEN = HTTPBearer(auto_error=False, description="The token that `droplight people add` shows for a system.")
router = APIRouter(
    prefix="/api",
    dependencies=[Depends(_TOKEN)],
    responses={
        400: _problem("The request cannot be understood"),
        401: _problem("No token, or one that is not known or has ended"),
        403: _problem("These pages open with the start-up link, or the request came from another site"),
    },
)
LAST = 2**31 - 1
_BYTES = {"type": "string", "format": "binary"}
AnId = Annotated[str, Path(pattern="^[A-Za-z0-9-]{1,64}$", description="The id of the inspection")]


class SignedLine(Frozen):
    """A signed record on the list; ``cursor`` grows in the order signed."""

    cursor: int
    id: str
    unit: str | None
    signed_by: str
    signed_at: datetime
    sha256: str


@router.get("/records", summary="Signed records in the order signed")
def records(
    desk: ADesk,
    after: Annotated[
        int, Query(ge=0, le=LAST, description="The cursor of the last one you have; 0 for none")
    ] = 0,
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
) -> list[SignedLine]:
    """Signed records by name and hash; drafts are not listed. Ask again after the last cursor for more."""
    found = desk.store.deliveries.signed_after(after, limit)
    return [
        SignedLine(
            cursor=cursor,
            id=record.inspection.id,
            unit=record.inspection.unit,
            signed_by=record.signature.by,
            signed_at=record.signature.at,
            sha256=record.signature.sha256,
        )
        for cursor, record in found
        if record.signature is not None
    ]


@router.get(
    "/records/{id}",
    summary="One signed record",
    responses={404: _problem("There is no signed record of that id")},
)
def signed_record(desk: ADesk, id: AnId) -> dict[str, Any]:
    """The record as signed, in the published format; a draft is not given out."""
    record = desk.store.signed(id)
    if record is None:
        raise HTTPException(404, "There is no signed record of that id.")
    return record.to_json()


@router.get(
    "/records/{id}/media/{sha256}",
    summary="A sound or photo that a signed record rests on",
    response_class=Response,
    responses={
        200: {
            "description": "A copy that every browser shows: m4a or jpg",
            "content": {kind: {"schema": _BYTES} for kind in ("audio/mp4", "image/jpeg")},
        },
        206: {"description": "The bytes that a Range header asks for"},
        304: {"description": "It is the one you have"},
        404: _problem("The record names no such file"),
    },
)
def record_media(
    request: Request,
    desk: ADesk,
    id: AnId,
    sha256: Annotated[str, Path(pattern="^[0-9a-f]{64}$", description="The hash of the file")],
) -> Response:
    """The whole recording or photo; answers range requests."""
    record = desk.store.signed(id)
    found = next((c for c in record.captures if c.sha256 == sha256), None) if record else None
    if found is None:
        raise HTTPException(404, "No signed record of that id names this file.")
    show = media.audio if found.kind == "audio" else media.photo
    return show(request, desk, sha256)


@router.get(
    "/record.schema.json",
    summary="The JSON Schema of a record",
    response_class=Response,
    responses={200: {"content": {"application/schema+json": {"schema": {"type": "object"}}}}},
)
def schema() -> Response:
    """The published schema, JSON Schema 2020-12."""
    text = (files("config") / "record.schema.json").read_text(encoding="utf-8")
    return Response(text, media_type="application/schema+json")


def problem(status: int, title: str) -> JSONResponse:
    """An error in the form of RFC 9457."""
    body = {"type": "about:blank", "title": title, "status": status}
    return JSONResponse(body, status, media_type="application/problem+json")
