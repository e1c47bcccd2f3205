"""One inspection as it stands: the draft, every decision, and what follows from both."""

import hashlib
from collections.abc import Callable, Sequence
from functools import cached_property

from models.events import ReviewEvent, Standing, fingerprint, reviewed, standing
from models.frozen import Frozen
from models.plans_check import checked
from models.record import Finding, Record, Verdict
from models.store import InspectionRow, Store
from pipelines.review.words import ref_of

Redraft = Callable[[str], object]
"""Draws the draft of an inspection, given by its id, up again from its captures."""

Rejudge = Callable[[Record], Sequence[Finding]]
"""Judges a record's findings again after a person changed some: the same with new verdicts and doubts."""

Reckon = Callable[[Record], Record]
"""Finds the estimate of a record anew: decisions change what is to be done."""

_NOT_JUDGED = Verdict(
    word="not judged", sentence="Changed by the reviewer; not judged against a limit again."
)


class Case(Frozen):
    """An inspection at one moment.

    Attributes:
        row: its row, read before everything else, so that its version is never too new.
        draft: what the program drafted; None when it has not got that far.
        events: every decision, in order.
        record: the draft with the decisions applied, or the record as signed.
    """

    row: InspectionRow
    draft: Record | None
    events: tuple[ReviewEvent, ...]
    record: Record | None

    @property
    def signed(self) -> bool:
        """The record is frozen."""
        return self.row.state == "signed"

    def finding(self, id: str) -> Finding | None:
        """The finding as it stands."""
        findings = self.record.findings if self.record else ()
        return next((f for f in findings if f.id == id), None)

    def ending(self, ref: str) -> Finding | None:
        """The finding whose id ends so: pages name findings by the last characters alone, to stay light."""
        findings = self.record.findings if self.record else ()
        found = [f for f in findings if ref and ref_of(f.id) == ref]
        return found[0] if len(found) == 1 else None

    def drafted_print(self, id: str) -> str | None:
        """Digest of the drafted findings that this one rests on; None for one added by hand."""
        return self.standing.basis(id) if self.standing else None

    @cached_property
    def standing(self) -> Standing | None:
        """The findings as events left them, and what each rests on; None without a draft."""
        return standing(self.draft, list(self.events)) if self.draft else None


def shown(finding: Finding) -> str:
    """A short digest of a finding and of what was decided about it, as a page shows it."""
    decided = finding.review.model_dump_json() if finding.review else ""
    return hashlib.sha256(f"{fingerprint(finding)}{decided}".encode()).hexdigest()[:16]


def shown_record(record: Record) -> str:
    """A short digest of a whole page of findings, verdicts and notices included."""
    return hashlib.sha256(record.model_dump_json(by_alias=True).encode()).hexdigest()[:16]


def _claim(finding: Finding) -> tuple[object, ...]:
    return finding.component, finding.position, finding.reading, finding.conditions


def judged_again(draft: Record, record: Record, rejudge: Rejudge | None) -> Record:
    """The record with verdicts that fit what the reviewer changed.

    A verdict that was drawn for another value must not stand beside the new one: without a judge, changed
    findings are "not judged". Rejected findings are kept out of the judging, because computed checks take
    several findings together.
    """
    drafted = {f.id: f for f in draft.findings}
    changed = {f.id for f in record.findings if f.id not in drafted or _claim(drafted[f.id]) != _claim(f)}
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    if rejudge is None:
        again = {
            f.id: f.model_copy(update={"verdict": _NOT_JUDGED, "suggestions": ()})
            for f in kept
            if f.id in changed
        }
    elif changed or len(kept) < len(record.findings) or len(record.findings) < len(draft.findings):
        again = {f.id: f for f in rejudge(record.model_copy(update={"findings": tuple(kept)}))}
    else:
        return record
    findings = tuple(_with_verdict(f, again.get(f.id, f)) for f in record.findings)
    return record.model_copy(update={"findings": findings})


def _with_verdict(finding: Finding, judged: Finding) -> Finding:
    if judged is finding:
        return finding
    attention = tuple(dict.fromkeys((*finding.attention, *judged.attention)))
    judgement = {"verdict": judged.verdict, "suggestions": judged.suggestions, "attention": attention}
    return finding.model_copy(update=judgement)


def load_case(
    store: Store, id: str, rejudge: Rejudge | None = None, reckon: Reckon | None = None
) -> Case | None:
    """The inspection as it stands; None when there is none of that id."""
    row = store.inspection(id)
    if row is None:
        return None
    draft, events = store.draft(id), tuple(store.events(id))
    if row.state == "signed":
        record = store.signed(id)
    elif draft is None:
        record = None
    else:
        record = checked(judged_again(draft, reviewed(draft, list(events)), rejudge))
        record = reckon(record) if reckon is not None else record
    return Case(row=row, draft=draft, events=events, record=record)
