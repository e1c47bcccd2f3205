"""Sound and pictures for the pages: known captures only, as copies that every browser can show.

Files are asked for by the hash of their content, looked up in the store, and never by a path. Copies are made
when first asked for and kept in ``review-copies`` in the data folder, which may be emptied at any time.
"""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import FileResponse, Response

from capture.media import UnreadableMedia, write_review_audio, write_review_photo
from models.capture import Capture, CaptureKind
from pipelines.review.desk import ADesk, Desk

router = APIRouter(include_in_schema=False)

_HASH = re.compile(r"[0-9a-f]{64}")
_BOX = re.compile(r"([0-9]{1,5}),([0-9]{1,5}),([0-9]{1,5}),([0-9]{1,5})")
LARGEST_PHOTO = 2000
LARGEST_CROP = 900


def _known(desk: Desk, sha256: str, kind: CaptureKind) -> Capture:
    capture = desk.store.capture(sha256) if _HASH.fullmatch(sha256) else None
    if capture is None or capture.kind != kind:
        raise HTTPException(404, "There is no such file.")
    return capture


def _made(desk: Desk, capture: Capture, suffix: str, make: Callable[[Path, Path], None]) -> Path:
    removal = desk.store.keeping.removal(capture.sha256)
    if removal is not None:
        # Also where a copy was left on this computer when the original was removed on another.
        for left in (desk.home / "review-copies").glob(f"{capture.sha256}*"):
            left.unlink(missing_ok=True)
        day = f"{removal.at:%Y-%m-%d}"
        raise HTTPException(404, f"{capture.original_name} was removed on {day}: {removal.why}")
    copy = desk.home / "review-copies" / f"{capture.sha256}{suffix}"
    if copy.exists():
        return copy
    copy.parent.mkdir(parents=True, exist_ok=True)
    # Two pages may ask at once: each writes its own, the last rename wins with the same content.
    part = copy.with_name(f"{uuid4().hex}{suffix}")
    try:
        make(desk.originals.path(capture.sha256), part)
        part.replace(copy)
    except FileNotFoundError:
        raise HTTPException(404, f"The original of {capture.original_name} is not kept any more.") from None
    except UnreadableMedia as error:
        raise HTTPException(404, str(error)) from None
    finally:
        part.unlink(missing_ok=True)
    return copy


def _headers(tag: str) -> dict[str, str]:
    return {"etag": f'"{tag}"', "cache-control": "private, max-age=31536000, immutable"}


def _has_it(request: Request, tag: str) -> bool:
    return f'"{tag}"' in request.headers.get("if-none-match", "")


def _file(request: Request, path: Path, kind: str, name: str, tag: str) -> Response:
    if _has_it(request, tag):
        return Response(status_code=304, headers=_headers(tag))
    return FileResponse(
        path, media_type=kind, filename=name, content_disposition_type="inline", headers=_headers(tag)
    )


@router.api_route("/audio/{sha256}", methods=["GET", "HEAD"])
def audio(request: Request, desk: ADesk, sha256: str) -> Response:
    """The sound of a capture; answers range requests, so that a browser can jump."""
    capture = _known(desk, sha256, "audio")
    copy = _made(desk, capture, ".m4a", write_review_audio)
    return _file(request, copy, "audio/mp4", f"{Path(capture.original_name).stem}.m4a", f"{sha256}-sound")


@router.api_route("/photo/{sha256}", methods=["GET", "HEAD"])
def photo(request: Request, desk: ADesk, sha256: str) -> Response:
    """The whole photo, upright."""
    capture = _known(desk, sha256, "photo")
    copy = _made(desk, capture, ".jpg", lambda src, dst: write_review_photo(src, dst, LARGEST_PHOTO))
    return _file(request, copy, "image/jpeg", f"{Path(capture.original_name).stem}.jpg", f"{sha256}-photo")


@router.get("/photo/{sha256}/crop")
def crop(request: Request, desk: ADesk, sha256: str, box: Annotated[str, Query(max_length=30)]) -> Response:
    """A part of the photo in its own pixels: ``box`` is x,y,width,height in pixels of the upright photo."""
    capture = _known(desk, sha256, "photo")
    found = _BOX.fullmatch(box)
    if found is None:
        raise HTTPException(400, "The box must be x,y,width,height in whole pixels.")
    x, y, width, height = (int(number) for number in found.groups())
    inside = x + width <= (capture.width or 0) and y + height <= (capture.height or 0)
    if not (width and height and inside):
        raise HTTPException(400, "The box must lie inside the photo.")
    tag = f"{sha256}-{x}-{y}-{width}-{height}"
    if _has_it(request, tag):
        return Response(status_code=304, headers=_headers(tag))
    return Response(
        _cut(desk, capture, (x, y, width, height)), media_type="image/jpeg", headers=_headers(tag)
    )


def _cut(desk: Desk, capture: Capture, box: tuple[int, int, int, int]) -> bytes:
    # Not kept: there is no end of boxes, and the browser keeps those it has shown.
    suffix = f"-{uuid4().hex}.jpg"
    path = _made(desk, capture, suffix, lambda src, dst: write_review_photo(src, dst, LARGEST_CROP, box))
    try:
        return path.read_bytes()
    finally:
        path.unlink(missing_ok=True)
