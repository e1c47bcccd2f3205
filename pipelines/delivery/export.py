"""Writing signed records into a folder, as JSON and CSV, with the report and the shop's own tables.

All files are replaced whole: written under another name, flushed to the disk, then renamed. A crash leaves
either nothing or a complete file, and the record stays on the list until all are there.

Rejected findings stay in the JSON with ``review.state`` ``rejected``, so that nothing said or seen is lost;
they have no row in the CSV.
"""

import json
import os
import re
import unicodedata
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from models.record import Record
from models.signing import verify
from models.store import Store
from pipelines.delivery.table import table

Extras = Callable[[Record], Mapping[str, bytes]]
"""Makes what is written beside JSON and CSV: the end of the file's name (``.pdf``) and its content."""


class DeliveryError(Exception):
    """A record could not be written; the message says which file, why and what to do."""


class NotSigned(DeliveryError):
    """Only signed records leave the program."""


def _file_words(text: str) -> str:
    """The text as part of a file name: letters, digits, ``_`` and ``-``, at most 40 of them."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")[:40].strip("-")


def file_stem(record: Record) -> str:
    """The name of a record's files, without suffix: ``<unit>-<date>-<first 8 characters of the id>``."""
    head = record.inspection
    unit = _file_words(head.unit or "") or "no-unit"
    return f"{unit}-{head.started_at:%Y%m%d}-{_file_words(head.id.replace('-', ''))[:8]}"


def _holds_other(path: Path, record: Record) -> bool:
    """The file is there and is not this record's (two ids may begin alike)."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return False
    except (OSError, ValueError):
        return True
    inspection = data.get("inspection") if isinstance(data, dict) else None
    return not isinstance(inspection, dict) or inspection.get("id") != record.inspection.id


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # a folder cannot be opened for flushing there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _write_whole(path: Path, content: bytes) -> None:
    part = path.with_name(f".{path.name}.{uuid4().hex[:8]}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def export_record(record: Record, out: Path, extras: Extras | None = None) -> list[Path]:
    """Write one signed record; returns the JSON, the CSV, and the other files.

    Args:
        record: signed, and unchanged since.
        out: the folder; made when missing.
        extras: makes further files, such as the report.

    Raises:
        NotSigned: nobody has signed the record, or it was changed after it was signed.
        DeliveryError: the folder cannot be written.
    """
    name = record.inspection.unit or record.inspection.id
    if record.inspection.state != "signed" or record.signature is None:
        raise NotSigned(
            f"The record of '{name}' is not signed and was not written: sign it on the review page first."
        )
    data = record.to_json()
    if not verify(data):
        raise NotSigned(
            f"The record of '{name}' is not what {record.signature.by} signed (its hash differs) and was not "
            "written: restore the database from a backup or inspect again."
        )
    try:
        out.mkdir(parents=True, exist_ok=True)
        stem = file_stem(record)
        if _holds_other(out / f"{stem}.json", record):
            stem = f"{stem}-{_file_words(record.inspection.id)}"
        made = {".csv": table(record).encode()} | dict(extras(record) if extras else {})
        # The JSON last: whoever watches the folder for it finds everything else there already.
        made[".json"] = f"{json.dumps(data, indent=2, ensure_ascii=False)}\n".encode()
        paths = {suffix: out / f"{stem}{suffix}" for suffix in made}
        for suffix, content in made.items():
            _write_whole(paths[suffix], content)
    except OSError as error:
        raise DeliveryError(
            f"The record of '{name}' could not be written to {out}: {error.strerror or error}. "
            "Make the folder writable or name another; the record stays on the list."
        ) from error
    return [paths.pop(".json"), *paths.values()]


def deliver(store: Store, out: Path, extras: Extras | None = None) -> list[Path]:
    """Write every signed record that was not delivered yet; returns the files written.

    Running it again writes nothing twice. After a crash between writing and noting, the same files are
    written again with the same content.

    Raises:
        NotSigned: a record is not what was signed; those before it are delivered.
        DeliveryError: the folder cannot be written; those before it are delivered.
    """
    written: list[Path] = []
    for record in store.undelivered():
        written += export_record(record, out, extras)
        store.mark_delivered(record.inspection.id, datetime.now(UTC))
    return written
