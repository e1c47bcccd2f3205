"""The estimate: a line for each piece of work, with the reason, and figures of the shop's own table."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from models.estimate import Basis, Estimate, EstimateLine
from models.places import AXES, Position
from models.record import Finding, Record
from models.repairs import Repair, RepairTable
from models.vocabulary import load_vocabulary
from pipelines.judging.combining import claim_words

WORK = ("replace", "repair", "resurface", "adjust", "tighten", "clean")
_ALWAYS_LISTED = "replace"  # a part to replace has a line even where the table has no figures for it
_CENT = Decimal("0.01")


@dataclass
class _Job:
    """One piece of work in the making."""

    component: str
    action: str
    place: Position
    basis: Basis
    entry: Repair | None
    reasons: list[str] = field(default_factory=list)
    findings: list[str] = field(default_factory=list)

    def rests_on(self, reason: str, finding: str) -> None:
        """Add what else calls for it."""
        if finding not in self.findings:
            self.findings.append(finding)
        if reason not in self.reasons:
            self.reasons.append(reason)


class _Call:
    """One finding that calls for work on one part."""

    def __init__(self, component: str, action: str, basis: Basis, finding: Finding, reason: str) -> None:
        self.component, self.action, self.basis = component, action, basis
        self.finding, self.reason = finding, reason


def estimate(record: Record, table: RepairTable | None) -> Estimate | None:
    """What the work that the findings call for may cost; None without a table of the shop.

    What the technician or the reviewer said to do comes first. What a rule suggests, and what follows from a
    reading beyond its limit, stands apart and is in a total of its own: nobody has decided it. Where a person
    has decided about a part, no suggestion about it is listed. Rejected findings count for nothing.

    Args:
        record: judged, with the decisions about it.
        table: from :func:`models.repairs.load_repairs`.
    """
    if table is None:
        return None
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    jobs: list[_Job] = []
    for call in (*_said(kept), *_suggested(kept), *_beyond(kept, table, record.inspection.unit)):
        _take(jobs, call, table, record.inspection.unit)
    lines = tuple(_line(job, table) for job in jobs)
    return Estimate(
        currency=table.currency,
        labor_rate=table.labor_rate,
        source=table.source,
        as_of=table.as_of,
        lines=lines,
        total_said=_sum(line.total for line in lines if line.basis == "said"),
        total_further=_sum(line.total for line in lines if line.basis != "said"),
        without_figures=sum(1 for line in lines if line.total is None),
    )


def _said(findings: Sequence[Finding]) -> Iterator[_Call]:
    for finding in findings:
        if finding.component is not None and finding.action in WORK:
            who = finding.review.by if finding.review is not None else None
            decided = f"said, and answered for by {who}" if who else "said"
            word = ", beyond its limit" if finding.verdict and finding.verdict.word == "beyond limit" else ""
            reason = f"{claim_words(finding)}{word}: “{finding.action}” was {decided}"
            yield _Call(finding.component, finding.action, "said", finding, reason)


def _suggested(findings: Sequence[Finding]) -> Iterator[_Call]:
    for finding in findings:
        for one in finding.suggestions:
            if one.action in WORK:
                yield _Call(one.component, one.action, "suggested", finding, one.sentence)


def _beyond(findings: Sequence[Finding], table: RepairTable, unit: str | None) -> Iterator[_Call]:
    """Readings beyond a limit of their own, where the table says that this calls for the work."""
    for finding in findings:
        verdict, reading = finding.verdict, finding.reading
        if verdict is None or reading is None or verdict.limit is None or finding.component is None:
            continue
        # Bounds are drawn for the reading itself: a difference of two readings names no part to work on.
        if verdict.word != "beyond limit" or verdict.bounds is None:
            continue
        for repair in table.repairs:
            called = repair.component == finding.component and reading.measure in repair.beyond
            if called and table.find(repair.component, repair.action, finding.position, unit) is repair:
                limit = verdict.limit
                kind = "" if limit.source.startswith(limit.kind) else f"{limit.kind}: "
                rule = f"{limit.sentence} [{kind}{limit.source}; as of: {limit.as_of}]"
                reason = f"{claim_words(finding)} is beyond the limit: {rule}"
                yield _Call(repair.component, repair.action, "beyond limit", finding, reason)


def _take(jobs: list[_Job], call: _Call, table: RepairTable, unit: str | None) -> None:
    """Add a call to the piece of work it belongs to, or make one; what a person decided stands."""
    entry = table.find(call.component, call.action, call.finding.position, unit)
    axes = entry.one_for if entry is not None else _axes(call.component)
    place = _at(call.finding.position, axes)
    for job in jobs:
        if job.component != call.component or not _may_be_same(job.place, place):
            continue
        if job.action == call.action and (job.place == place or job.basis != call.basis):
            job.rests_on(call.reason, call.finding.id)
            return
        if job.basis != call.basis:
            return
    if entry is None and call.action != _ALWAYS_LISTED:
        return
    made = _Job(call.component, call.action, place, call.basis, entry)
    made.rests_on(call.reason, call.finding.id)
    jobs.append(made)


def _axes(component: str) -> tuple[str, ...]:
    part = load_vocabulary().components.get(component)
    return tuple(axis for axis in part.axes if axis != "spot") if part is not None else ()


def _at(position: Position, axes: tuple[str, ...]) -> Position:
    return Position.model_validate({axis: getattr(position, axis) for axis in axes})


def _may_be_same(one: Position, other: Position) -> bool:
    """Whether two places do not exclude each other."""
    pairs = ((getattr(one, axis), getattr(other, axis)) for axis in AXES)
    return all(mine is None or theirs is None or mine == theirs for mine, theirs in pairs)


def _line(job: _Job, table: RepairTable) -> EstimateLine:
    entry = job.entry
    labor = None if entry is None else _cents(entry.hours * table.labor_rate)
    parts = None if entry is None else _cents(entry.parts)
    return EstimateLine(
        component=job.component,
        position=job.place,
        action=job.action,
        basis=job.basis,
        reason="; ".join(reason.rstrip(".") for reason in job.reasons) + ".",
        findings=tuple(job.findings),
        words=entry.words if entry is not None else f"{job.action} {job.component}".replace("_", " "),
        hours=entry.hours if entry is not None else None,
        labor=labor,
        parts=parts,
        total=None if labor is None or parts is None else labor + parts,
    )


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, rounding=ROUND_HALF_UP)


def _sum(amounts: Iterator[Decimal | None]) -> Decimal:
    return sum((a for a in amounts if a is not None), Decimal("0.00"))
