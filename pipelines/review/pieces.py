"""Changing what a finding rests on: photos, two findings of one, one finding of two.

Nothing here decides anything and nothing is thrown away: a finding that another takes in leaves its value as
an alternative and its doubts as doubts.
"""

from uuid import uuid4

from models.record import Alternative, Evidence, Finding, Record
from models.units import UNITS
from pipelines.review.words import claim_words

SPLIT = "Split by the reviewer: say which part, place and value this is before confirming."


def photo_evidence(record: Record | None, draft: Record | None, sha256: str) -> Evidence | None:
    """A photo of the inspection as evidence, with its box where the draft knows one; None without it."""
    drafted = [e for f in (draft.findings if draft else ()) for e in f.evidence]
    known = next((e for e in drafted if e.kind == "photo" and e.capture == sha256), None)
    if known is not None:
        return known
    captures = record.captures if record else ()
    if any(c.sha256 == sha256 and c.kind == "photo" for c in captures):
        return Evidence(kind="photo", capture=sha256, text="")
    return None


def with_photo(finding: Finding, photo: Evidence) -> Finding:
    """The finding resting on one more photo."""
    return _changed(finding, evidence=(*finding.evidence, photo))


def without_piece(finding: Finding, piece: int) -> Finding:
    """The finding without one piece of evidence."""
    kept = tuple(e for at, e in enumerate(finding.evidence) if at != piece)
    return _changed(finding, evidence=kept)


def split(finding: Finding, pieces: frozenset[int], value: str) -> tuple[Finding, Finding]:
    """Two findings of one.

    Args:
        finding: the one.
        pieces: which of its evidence goes with the new one; all of it: it stays with both.
        value: what the new one reads: ``same``, ``none``, or the place of an alternative (``0``).

    Returns:
        What remains, and the new one.
    """
    goes = tuple(e for at, e in enumerate(finding.evidence) if at in pieces)
    stays = tuple(e for at, e in enumerate(finding.evidence) if at not in pieces) or finding.evidence
    attention = tuple(dict.fromkeys((*finding.attention, SPLIT)))
    reading = finding.reading if value != "none" else None
    if value.isdecimal() and reading is not None:
        other = finding.alternatives[int(value)]
        given = f"{other.value:f} {UNITS[other.unit].words}, also heard or seen"
        reading = reading.model_copy(update={"value": other.value, "unit": other.unit, "as_given": given})
    rest = _changed(finding, evidence=stays, attention=attention)
    new = _changed(finding, id=str(uuid4()), evidence=goes, attention=(SPLIT,), reading=reading)
    return rest, new.model_copy(update={"alternatives": (), "verdict": None, "suggestions": ()})


def merge(finding: Finding, other: Finding) -> Finding:
    """One finding of two: what the first leaves open is filled by the other, what it says stays."""
    named = finding.component is not None
    reading = finding.reading or other.reading
    attention = [*finding.attention, *other.attention]
    alternatives = list(finding.alternatives)
    if reading is not None and other.reading is not None and _value(finding) not in (None, _value(other)):
        attention.append(f"Taken in: {claim_words(other)}. The two values differ: look which is right.")
        if other.reading.measure == reading.measure:
            mine = Alternative(
                value=other.reading.value, unit=other.reading.unit, weight=min(other.confidence, 1.0)
            )
            alternatives.insert(0, mine)
    merged = _changed(
        finding,
        component=finding.component or other.component,
        position=finding.position if named else other.position,
        reading=reading,
        conditions=tuple(dict.fromkeys((*finding.conditions, *other.conditions))),
        action=finding.action or other.action,
        confidence=min(finding.confidence, other.confidence),
        alternatives=tuple(alternatives),
        attention=tuple(dict.fromkeys(attention)),
        evidence=tuple(dict.fromkeys((*finding.evidence, *other.evidence))),
    )
    same = (merged.component, merged.position, merged.reading) == (
        finding.component,
        finding.position,
        finding.reading,
    )
    return merged if same else merged.model_copy(update={"verdict": None, "suggestions": ()})


def loose_photos(draft: Record | None, record: Record | None) -> list[str]:
    """Hashes of photos that a drafted finding rested on and none does any more."""

    def used(of: Record | None) -> dict[str, None]:
        pieces = [e for f in (of.findings if of else ()) for e in f.evidence]
        return dict.fromkeys(e.capture for e in pieces if e.kind == "photo")

    now = used(record)
    return [sha256 for sha256 in used(draft) if sha256 not in now]


def _value(finding: Finding) -> tuple[object, ...] | None:
    reading = finding.reading
    return (reading.measure, reading.value, reading.unit) if reading else None


def _changed(finding: Finding, **update: object) -> Finding:
    return finding.model_copy(update={"review": None, **update})
