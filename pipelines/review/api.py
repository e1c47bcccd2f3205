"""Signed records for the shop's system, read only: ``/api/openapi.json`` describes it."""

from datetime import datetime
from importlib.resources import files
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Path
from fastapi.responses import JSONResponse, Response
from fastapi.security import HTTPBearer

from models.frozen import Frozen
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
AnId = Annotated[str, Path(pattern="^[A-Za-z0-9-]{1,64}$", description="The id of the inspection")]


class SignedLine(Frozen):
    """A signed record on the list."""

    id: str
    unit: str | None
    signed_by: str
    signed_at: datetime
    sha256: str


@router.get("/records", summary="Signed records, newest inspection first")
def records(desk: ADesk) -> list[SignedLine]:
    """Every signed record, by name and hash; drafts are not listed."""
    lines = []
    for row in desk.store.inspections():
        record = desk.store.signed(row.id) if row.state == "signed" else None
        if record is not None and record.signature is not None:
            made = record.signature
            lines.append(
                SignedLine(
                    id=row.id,
                    unit=record.inspection.unit,
                    signed_by=made.by,
                    signed_at=made.at,
                    sha256=made.sha256,
                )
            )
    return lines


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
