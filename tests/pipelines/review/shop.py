"""The invented inspection of :mod:`sample` amid a working day: every page has all it can show."""

from datetime import timedelta
from decimal import Decimal

from models.estimate import Estimate, EstimateLine
from models.events import ReviewEvent
from models.places import Position
from models.record import PlanItem, Record, Review, Suggestion, Wear
from models.signing import sign
from models.store import InspectionRow
from models.store.amending import open_amendment
from tests.pipelines.review.sample import AT, ID, Bench, add_inspection, draft, finding_id

SIGNED = "44444444-3a3f-4f5c-9a7c-000000000001"
BEFORE = "44444444-3a3f-4f5c-9a7c-000000000002"
WAITING = "55555555-3a3f-4f5c-9a7c-000000000001"
"""An inspection whose draft is not there yet."""
FIGURES = {"currency": "USD", "labor_rate": Decimal(118), "source": "price list", "as_of": "2026-11-01"}


def reckon(record: Record) -> Record:
    """One line for every finding that was not rejected: the first said, the rest further."""
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    lines = tuple(
        EstimateLine(
            component=f.component or "tire",
            action="replace",
            basis="said" if n == 0 else "beyond limit",
            reason="<b>It is worn.</b>",
            findings=(f.id,),
            words="new parts",
            hours=Decimal(1),
            labor=Decimal("118.00"),
            parts=Decimal("2.00"),
            total=Decimal("120.00"),
        )
        for n, f in enumerate(kept)
    )
    said = Decimal("120.00") * min(len(lines), 1)
    further = Decimal("120.00") * len(lines) - said
    sums = {"total_said": said, "total_further": further, "without_figures": 0}
    estimate = Estimate.model_validate({**FIGURES, **sums, "lines": lines})
    return record.model_copy(update={"estimate": estimate})


def furnish(bench: Bench) -> None:
    """Signed records, one amended, one still drafting, deliveries in every state, a decision, a plan."""
    for number, id in ((2, BEFORE), (1, SIGNED)):
        _sign_earlier(bench, number, id)
    open_amendment(bench.store, BEFORE)
    bench.store.add_inspection(
        InspectionRow(id=WAITING, unit=None, folder="", started_at=AT, ended_at=AT, state="open", version=0)
    )
    bench.store.put_draft(ID, planned(bench))
    row = bench.store.inspection(ID)
    assert row is not None
    event = ReviewEvent(kind="reject", finding=finding_id(5), by="Ana Cole", at=AT, reason="another truck")
    bench.store.append_event(ID, event, row.version)
    deliveries = bench.store.deliveries
    deliveries.plan("office")
    deliveries.plan("a-receiver-with-a-rather-long-name")
    for delivery in deliveries.all()[::2]:
        deliveries.note(delivery, "dead", problem="The office answered 422: it takes no such records.")
    deliveries.close("office", "It answered 410: it wants nothing more.")


def _sign_earlier(bench: Bench, number: int, id: str) -> None:
    record = draft(bench.audio, bench.photo, id=id)
    at = AT - timedelta(days=30 * number)
    head = record.inspection.model_copy(update={"started_at": at, "ended_at": at, "vin": "11111111111111111"})
    findings = tuple(
        f.model_copy(update={"review": Review(state="confirmed", by="Ana Cole", at=AT)})
        for f in record.findings[: 6 - number]
    )
    record = record.model_copy(update={"inspection": head, "findings": findings})
    add_inspection(bench.store, record)
    bench.store.sign(id, sign(record, "Ana Cole", AT), 0)


def planned(bench: Bench) -> Record:
    """The invented draft with a plan that lacks three things, a suggestion, and wear of its first finding."""
    record = draft(bench.audio, bench.photo)
    items = (
        PlanItem(stop="left front wheel", component="brake_rotor", measure="thickness"),
        PlanItem(stop="left front wheel", component="hub", position=Position(side="left", axle="front")),
        PlanItem(stop="engine bay", component="radiator_hose"),
    )
    first = record.findings[0]
    suggestion = Suggestion(
        rule="pads_in_pairs",
        component="brake_pad",
        action="replace",
        sentence="Replace the pads of an axle <together>.",
        kind="common practice",
        source="shop handbook, page 4",
    )
    wear = Wear(
        finding=first.id,
        component="brake_pad",
        position=first.position,
        measure="thickness",
        value=Decimal("6.0"),
        unit="mm",
        since=AT,
        change=Decimal("-1.0"),
        readings=1,
        sentence="1.0 mm less than on 2026-05-02.",
    )
    findings = (first.model_copy(update={"suggestions": (suggestion,)}), *record.findings[1:])
    update = {"findings": findings, "wear": (wear,), "plan": items, "plan_name": "light_truck"}
    return record.model_copy(update=update)
