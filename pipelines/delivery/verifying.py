"""Whether a record is still what was signed, and follows from those signed before it."""

import json
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from models.record import Record
from models.signing import SigningError, verify

Known = Mapping[str, Record]
"""Signed records by their hash."""


class Wrong(Exception):
    """A record does not hold; the message says in one sentence what is wrong."""


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a member stands in it twice")
    return found


def read_record(path: Path) -> Record:
    """The signed record of a file, unchanged since it was signed.

    Raises:
        Wrong: the file cannot be read, is no record, or was changed.
    """
    try:
        data = json.loads(path.read_bytes().decode("utf-8"), object_pairs_hook=_once)
    except OSError as error:
        raise Wrong(f"{path} cannot be read: {error.strerror or error}.") from None
    except (ValueError, RecursionError) as error:
        raise Wrong(f"{path} is damaged, it is not JSON: {error}.") from None
    if not isinstance(data, dict) or data.get("schema") != "droplight/record/1":
        raise Wrong(f"{path} is not a record of the format droplight/record/1.")
    if not isinstance(data.get("signature"), dict):
        raise Wrong(f"{path} is a draft: nobody has signed it.")
    if not verify(data):
        raise Wrong(f"{path} was changed after it was signed: its hash is not the one in its signature.")
    try:
        record = Record.from_json(data)
        same = verify(record.to_json())
    except (ValidationError, SigningError, ArithmeticError, KeyError, TypeError, ValueError):
        same = False
    if not same:
        raise Wrong(f"{path} has a hash that fits, but its members are not those of the format.")
    return record


def by_hash(records: Iterable[Record]) -> dict[str, Record]:
    """The signed records among these, by their hash."""
    return {r.signature.sha256: r for r in records if r.signature is not None}


def records_in(folder: Path) -> dict[str, Record]:
    """Every signed record among the JSON files of a folder, by its hash; other files are passed over.

    Raises:
        Wrong: a file says that it is a signed record and does not hold.
    """
    found: list[Record] = []
    for path in sorted(folder.glob("*.json")):
        try:
            data = json.loads(path.read_bytes())
        except (OSError, ValueError):
            continue
        if isinstance(data, dict) and "signature" in data:
            found.append(read_record(path))
    return by_hash(found)


def _named(record: Record, what: str, sha256: str, known: Known) -> Record:
    other = known.get(sha256)
    if other is None:
        raise Wrong(
            f"The record of {_words(record)} names {sha256[:12]} as {what}, which is missing: it was taken "
            "away, or changed."
        )
    if (other.inspection.unit or "").casefold().split() != (record.inspection.unit or "").casefold().split():
        raise Wrong(f"The record of {_words(record)} names a record of another unit as {what}.")
    return other


def _words(record: Record) -> str:
    at = f"{record.signature.at:%Y-%m-%d %H:%M}" if record.signature else "no time"
    return f"'{record.inspection.unit or record.inspection.id}' signed {at}"


def check_chain(record: Record, known: Known, removed: Collection[str] = ()) -> int:
    """Follow a record back to the first one of its unit; returns how many were signed before it.

    Args:
        record: signed and unchanged.
        known: the records there are, unchanged.
        removed: hashes of records that were removed when their time was over; the way back ends there.

    Raises:
        Wrong: a record is missing, belongs to another unit, or two follow the same one.
    """
    if record.inspection.amends and record.inspection.amends not in removed:
        _named(record, "the record that it amends", record.inspection.amends, known)
    followers: dict[str, Record] = {}
    for sha256, one in known.items():
        before = one.signature.previous_sha256 if one.signature else None
        if before and before in followers:
            raise Wrong(f"Two records follow {before[:12]}: that of {_words(one)} and another.")
        if before:
            followers[before] = known[sha256]
    steps, at = 0, record
    while at.signature is not None and at.signature.previous_sha256:
        if at.signature.previous_sha256 in removed:
            return steps
        at = _named(at, "the one before it", at.signature.previous_sha256, known)
        steps += 1
        if steps > len(known):  # cannot be built without breaking SHA-256; a loop all the same ends here
            raise Wrong(f"The records of {_words(record)} follow one another in a circle.")
    return steps
