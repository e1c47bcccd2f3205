"""Files sent from a phone's browser: photos and spoken notes, put into the inbox like any other file.

Nothing that is sent is believed: the name loses every folder and strange character, the content is read to
its end before the file is shown to whoever watches the inbox, and what is no photo or sound that can be read
is refused with the reason. A file lies in a hidden folder of the inbox until it is whole; then it is renamed.

The page keeps what could not be sent and sends it again, each file by itself, until it hears that the file is
safe here. An answer may get lost: the name of a file holds the hash of its bytes, so that the same file sent
twice lies here once, or is known by its content when the first was taken in meanwhile.
"""

import asyncio
import os
import re
import shutil
import time
from pathlib import Path
from uuid import uuid4

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import JSONResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from capture import disk
from capture.identity import printable_name
from capture.ingest import REJECTED, is_temporary
from capture.media import UnreadableMedia, probe
from models.frozen import Frozen
from models.store.store import AMENDMENT
from pipelines.review import views
from pipelines.review.desk import ADesk, Desk, error_page, in_thread, page
from pipelines.review.guard import LARGEST_UPLOAD, UPLOADS

router = APIRouter(include_in_schema=False)

WITHIN_S = 180.0
"""A whole upload; a photo takes a second or two on a shop's network."""
LARGEST_FILE = 64 * 1024 * 1024
MOST_FILES = 20
MOST_TRUCKS = 12
LONGEST_KEPT_S = 31 * 24 * 3600.0
"""How long a phone may have kept a file; a longer time is taken for a mistake of its clock."""
_FOLDER = re.compile(r"[^\W_][\w .()#+-]{0,59}")
_STRANGE = re.compile(r"[^\w .()+-]")
_SECONDS = re.compile(r"[0-9]{1,9}")
_CHUNK = 1 << 20


class Place(Frozen):
    """A truck that files can be sent for: its inspection, its name, and when it was begun."""

    id: str
    unit: str
    dates: str


class Taken(Frozen):
    """What became of one file: its name, and why it was not taken; empty when it was."""

    name: str
    problem: str = ""


@router.get(UPLOADS)
def send_page(request: Request, desk: ADesk, truck: str = "") -> Response:
    """The page for a phone: choose the truck, take a photo or record a note, send."""
    return _show(request, desk, truck=truck)


@router.post(UPLOADS)
async def send(request: Request, desk: ADesk) -> Response:
    """Take the files in, each on its own: what is wrong with one does not stop the others."""
    if desk.inbox is None:
        return await in_thread(request, 409, "No folder is set for files from phones; nothing was kept.")
    if not request.headers.get("content-type", "").lower().startswith("multipart/form-data"):
        raise HTTPException(415, "Only the form of this page is taken here.")
    try:
        async with asyncio.timeout(WITHIN_S), request.form(max_files=MOST_FILES, max_fields=10) as form:
            return await run_in_threadpool(_take_all, request, desk, desk.inbox, form)
    except TimeoutError:
        sentence = "Sending took too long and was given up; nothing was kept. Send fewer files at once."
        return await in_thread(request, 408, sentence)


def _take_all(request: Request, desk: Desk, inbox: Path, form: FormData) -> Response:
    truck, unit = str(form.get("truck", "")), " ".join(str(form.get("unit", "")).split())
    files = [f for f in form.getlist("files") if isinstance(f, UploadFile) and f.filename]
    if not files:
        return _show(request, desk, 422, truck=truck, wrong="Choose a photo or a recording first.")
    folder = unit or _folder_of(desk, truck)
    if folder is None or (folder and not is_folder(folder)):
        sentence = "Write the unit with letters, digits, spaces, points or hyphens, a letter or digit first."
        if folder is None:
            sentence = "That truck is no longer being inspected: choose another, or write its unit."
        return _show(request, desk, 422, truck=truck, wrong=sentence)
    age_s = _age_s(str(form.get("age_s", "")))
    taken = tuple(_take(inbox, folder, file, age_s) for file in files)
    status = 200 if any(not t.problem for t in taken) else 422
    return _show(request, desk, status, truck=truck, taken=taken, went_to=folder)


def is_folder(name: str) -> bool:
    """Whether a name can be that of a sub-folder of the inbox, and of nothing else."""
    usable = _FOLDER.fullmatch(name) is not None and not name.endswith((" ", "."))
    return usable and name.casefold() != REJECTED and not is_temporary(name)


def _folder_of(desk: Desk, truck: str) -> str | None:
    """Where files of a truck belong: its folder, else its unit; empty: nobody knows. None: no such truck."""
    if not truck:
        return ""
    row = desk.store.inspection(truck)
    if row is None or row.state == "signed" or row.folder.startswith(AMENDMENT):
        return None
    name = row.folder or row.unit or ""
    return name if is_folder(name) else ""


def _age_s(said: str) -> float:
    """How long ago a kept file was made, by the phone's own clock (s); 0 when nobody can tell."""
    age_s = float(said) if _SECONDS.fullmatch(said) else 0.0
    return age_s if age_s <= LONGEST_KEPT_S else 0.0


def _take(inbox: Path, folder: str, file: UploadFile, age_s: float) -> Taken:
    name = _safe_name(file.filename or "")
    waiting = inbox / f".sent-{uuid4().hex}"
    try:
        waiting.mkdir(parents=True)
        part = waiting / name
        if not _copy(file, part):
            return Taken(name=name, problem=f"It is over {LARGEST_FILE // 2**20} MB: send a shorter one.")
        made = time.time() - age_s
        os.utime(part, (made, made))
        sha256 = probe(part, folder).sha256
        target = inbox / folder
        target.mkdir(exist_ok=True)
        if target.is_symlink():
            raise OSError(f"{folder} leads out of the inbox")
        # A phone calls many photos alike: none replaces another, but the same one sent again replaces itself.
        disk.move(part, target / f"{part.stem}-{sha256[:16]}{part.suffix}")
        disk.sync_up(target, inbox)
    except UnreadableMedia as error:
        return Taken(name=name, problem=str(error))
    except OSError as error:
        return Taken(name=name, problem=f"It could not be kept ({error.strerror or error}): tell the shop.")
    finally:
        shutil.rmtree(waiting, ignore_errors=True)
    return Taken(name=name)


def _copy(file: UploadFile, part: Path) -> bool:
    """Write the file to the disk; False when it is too large."""
    with part.open("xb") as out:
        while piece := file.file.read(_CHUNK):
            if out.tell() + len(piece) > LARGEST_FILE:
                return False
            out.write(piece)
        out.flush()
        os.fsync(out.fileno())
    return True


def _safe_name(given: str) -> str:
    """A file name of letters, digits and a few signs, without any folder, nothing special anywhere."""
    last = re.split(r"[/\\]", printable_name(given))[-1]
    plain = _STRANGE.sub("_", last).lstrip(" ._-") or "file"
    stem, dot, suffix = plain.rpartition(".")
    return f"{(stem if dot else plain)[:60].strip(' .')}{dot}{suffix[:8] if dot else ''}" or "file"


def _trucks(desk: Desk) -> list[Place]:
    rows = [r for r in desk.store.inspections() if r.state != "signed" and not r.folder.startswith(AMENDMENT)]
    cases = [desk.case(row.id) for row in rows[:MOST_TRUCKS]]
    return [Place(id=c.row.id, unit=views.unit_of(c), dates=views.dates_of(c)) for c in cases]


def _show(
    request: Request,
    desk: Desk,
    status: int = 200,
    truck: str = "",
    wrong: str = "",
    taken: tuple[Taken, ...] = (),
    went_to: str = "",
) -> Response:
    if request.headers.get("accept") == "application/json":
        return JSONResponse(
            {"wrong": wrong, "went_to": went_to, "taken": [t.model_dump() for t in taken]}, status
        )
    if desk.inbox is None:
        sentence = (
            "No folder is set for files from phones: set review.inbox in settings.yaml to the folder that "
            "droplight watch looks through."
        )
        return error_page(request, 404, sentence)
    return page(
        request,
        "send.html",
        status,
        trucks=_trucks(desk),
        truck=truck,
        wrong=wrong,
        taken=taken,
        went_to=went_to,
        largest=LARGEST_FILE // 2**20,
        whole=LARGEST_UPLOAD // 2**20,
        most=MOST_FILES,
    )
