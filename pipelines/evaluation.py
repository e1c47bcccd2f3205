"""How often drafts were right: each drafted finding against what a person signed.

A drafted finding is right when the signed record holds it with the same part, place, reading, conditions and
action. Counted by part, by measure and by what the finding rested on; never by person. Amendments are left
out: their drafts are not made of sound and photos.
"""

from collections.abc import Iterable
from typing import Literal

from models.frozen import Frozen
from models.record import Finding, Record
from models.store import Store

By = Literal["part", "measure", "source"]


class Judged(Frozen):
    """One finding of a draft, or one that a draft missed.

    Attributes:
        part: identifier; ``not said`` when the draft named none.
        measure: identifier, or ``no number``.
        source: voice, photo, both, or none.
        result: right, changed, rejected, or missed (added by a person).
        warned: the draft asked a person to look.
    """

    part: str
    measure: str
    source: str
    result: Literal["right", "changed", "rejected", "missed"]
    warned: bool = False


class Share(Frozen):
    """Counts of one part, measure or source.

    Attributes:
        drafted: findings drafted.
        right: of those, signed as they were drafted.
        silent: of the wrong ones, those without a sentence that asks to look.
        missed: findings that a person had to add.
    """

    drafted: int = 0
    right: int = 0
    silent: int = 0
    missed: int = 0


def _claim(finding: Finding) -> tuple[object, ...]:
    reading = finding.reading
    value = (reading.measure, reading.value, reading.unit) if reading else None
    return finding.component, finding.position, value, frozenset(finding.conditions), finding.action


def _source(finding: Finding) -> str:
    kinds = {e.kind for e in finding.evidence}
    if len(kinds) == 2:
        return "both"
    return "voice" if "audio" in kinds else "photo" if "photo" in kinds else "none"


def _judged(finding: Finding, result: Literal["right", "changed", "rejected", "missed"]) -> Judged:
    return Judged(
        part=finding.component or "not said",
        measure=finding.reading.measure if finding.reading else "no number",
        source=_source(finding),
        result=result,
        warned=bool(finding.attention),
    )


def compare(draft: Record, signed: Record) -> list[Judged]:
    """Every drafted finding with its result, then those the draft missed."""
    if signed.inspection.amends:
        return []
    final = {f.id: f for f in signed.findings}
    judged = []
    for finding in draft.findings:
        end = final.pop(finding.id, None)
        if end is None or (end.review is not None and end.review.state == "rejected"):
            judged.append(_judged(finding, "rejected"))
        else:
            judged.append(_judged(finding, "right" if _claim(end) == _claim(finding) else "changed"))
    left = [f for f in final.values() if f.review is None or f.review.state != "rejected"]
    return [*judged, *(_judged(f, "missed") for f in left)]


def judged_in(store: Store, most: int | None = None) -> tuple[int, list[Judged]]:
    """How many signed records there are to compare with drafts of their own, and every finding of them.

    Args:
        store: where both are kept.
        most: only so many, the newest.
    """
    records, judged = 0, []
    for row in store.inspections():
        if row.state != "signed" or records == most:
            continue
        signed, draft = store.signed(row.id), store.draft(row.id)
        if signed is not None and draft is not None and not signed.inspection.amends:
            records += 1
            judged += compare(draft, signed)
    return records, judged


def shares(judged: Iterable[Judged], by: By | None = None) -> dict[str, Share]:
    """Counts for each part, measure or source, the most frequent first; with no ``by`` all under one name."""
    counts: dict[str, list[int]] = {}
    for one in judged:
        row = counts.setdefault(getattr(one, by) if by else "all", [0, 0, 0, 0])
        drafted = one.result != "missed"
        row[0] += drafted
        row[1] += one.result == "right"
        row[2] += one.result in {"changed", "rejected"} and not one.warned
        row[3] += not drafted
    ordered = sorted(counts.items(), key=lambda item: (-item[1][0] - item[1][3], item[0]))
    return {n: Share(drafted=d, right=r, silent=s, missed=m) for n, (d, r, s, m) in ordered}
