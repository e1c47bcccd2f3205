"""Signing a record: its canonical form, its hash, and the check of both.

The canonical form is the one of RFC 8785 (JSON Canonicalization Scheme): members sorted, numbers as
ECMAScript writes them, UTF-8, no white space. That form writes 4.50 as 4.5; the digits as given are strings
in the record (``reading.exact``), so they are signed too.
"""

import hashlib
import json
from datetime import datetime
from typing import Any

import rfc8785

from models.record import Finding, Record, Signature

DECIDED = frozenset({"confirmed", "corrected", "rejected", "added"})


class SigningError(ValueError):
    """The record cannot be signed as it stands; the message says why and what to do."""


def undecided(record: Record) -> list[Finding]:
    """The findings that nobody has confirmed, corrected, rejected or added yet."""
    return [f for f in record.findings if f.review is None or f.review.state not in DECIDED]


def without_part(record: Record) -> list[Finding]:
    """The findings that are kept although nobody has said which part they are about."""
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    return [f for f in kept if f.component is None]


def canonical_bytes(data: dict[str, Any]) -> bytes:
    """The RFC 8785 form of JSON-ready data.

    Raises:
        SigningError: the data holds something that JSON has no exact form for (an integer beyond 2^53, NaN).
    """
    try:
        written = rfc8785.dumps(data)
        rfc8785.dumps(json.loads(written))  # 1e20 is written as an integer, which nobody could verify
    except rfc8785.CanonicalizationError as error:
        raise SigningError(f"The record has no canonical JSON form: {error}.") from None
    return written


def _digest(data: dict[str, Any]) -> str:
    signature = {k: v for k, v in (data.get("signature") or {}).items() if k != "sha256"}
    return hashlib.sha256(canonical_bytes({**data, "signature": signature})).hexdigest()


def canonical_sha256(record: Record) -> str:
    """SHA-256 (hexadecimal) over the canonical form of the record without ``signature.sha256``."""
    return _digest(record.to_json())


def sign(record: Record, by: str, at: datetime) -> Record:
    """The record, frozen under a name.

    Args:
        record: a draft in which a person has decided about every finding.
        by: the reviewer's name.
        at: when, with a time zone.

    Raises:
        SigningError: no name, signed already, or a finding is not decided or has no part.
    """
    name = " ".join(by.split())
    if not name:
        raise SigningError("A signature needs a name.")
    if record.inspection.state == "signed":
        raise SigningError("This record is signed already.")
    if at.tzinfo is None:
        raise SigningError("The time of a signature needs a time zone.")
    if waiting := len(undecided(record)):
        raise SigningError(f"Not signed: {waiting} of {len(record.findings)} findings are not decided yet.")
    if nameless := len(without_part(record)):
        raise SigningError(f"Not signed: {nameless} findings do not say which part they are about.")
    inspection = record.inspection.model_copy(update={"state": "signed"})
    bare = record.model_copy(update={"inspection": inspection, "signature": Signature(by=name, at=at)})
    signature = Signature(by=name, at=at, sha256=canonical_sha256(bare))
    return bare.model_copy(update={"signature": signature})


def verify(data: dict[str, Any]) -> bool:
    """True when JSON-ready data is a signed record and still what was signed.

    The data is hashed as it stands, so a field that was added to it counts as a change.
    """
    signature = data.get("signature")
    if not isinstance(signature, dict) or not isinstance(signature.get("sha256"), str):
        return False
    inspection = data.get("inspection")
    if not isinstance(inspection, dict) or inspection.get("state") != "signed":
        return False
    try:
        return bool(_digest(data) == signature["sha256"])
    except (SigningError, TypeError):
        return False


def chained(record: Record, previous_sha256: str) -> Record:
    """The signed record, naming the record of the same unit that was signed before it.

    Args:
        record: signed.
        previous_sha256: hash of the earlier record.

    Raises:
        SigningError: the record is not signed.
    """
    if record.signature is None:
        raise SigningError("Only a signed record can follow another one.")
    signature = record.signature.model_copy(update={"previous_sha256": previous_sha256})
    bare = record.model_copy(update={"signature": signature})
    sealed = signature.model_copy(update={"sha256": canonical_sha256(bare)})
    return record.model_copy(update={"signature": sealed})


def amendment(record: Record, id: str) -> Record:
    """A new draft that puts a signed record right: its findings as they were kept, every one undecided.

    Args:
        record: signed; it stays as it is.
        id: UUID of the new inspection.

    Raises:
        SigningError: the record is not signed.
    """
    if record.signature is None or record.inspection.state != "signed":
        raise SigningError("Only a signed record can be amended: change this one before it is signed.")
    update = {"id": id, "state": "draft", "amends": record.signature.sha256}
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    findings = tuple(f.model_copy(update={"review": None}) for f in kept)
    inspection = record.inspection.model_copy(update=update)
    return record.model_copy(
        update={"inspection": inspection, "findings": findings, "signature": None, "plan": ()}
    )
