"""Everything known of one inspection, drawn up as a draft record."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from models.capture import Capture
from models.display import DisplayReading
from models.labels import SeenText
from models.limits.facts import head_facts
from models.notes import SpokenNotes
from models.plans_check import checked
from models.record import Inspection, Record
from models.repairs import RepairTable
from models.settings import TruckSettings
from models.vin import VinError, report
from pipelines import labels
from pipelines.grouping import end_of
from pipelines.instruments import questioned, with_doubts
from pipelines.judging import estimate, judge, wear
from pipelines.pairing import pair
from pipelines.workshop import Workshop


@dataclass
class Material:
    """What the stages made of the captures of one inspection.

    Attributes:
        captures: in order of time.
        notes: of the audio files.
        displays: of the photos.
        notices: sentences about files that gave nothing.
        texts: printed lines and bar codes of photos, by sha256.
    """

    captures: list[Capture]
    notes: list[SpokenNotes] = field(default_factory=list)
    displays: list[DisplayReading] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    texts: dict[str, tuple[SeenText, ...]] = field(default_factory=dict)


def _names(captures: Sequence[Capture]) -> dict[str, str]:
    return {c.sha256: c.original_name for c in captures}


def _prints(material: Material) -> dict[str, list[str]]:
    """The printed lines of photos that have some, by sha256."""
    lines = {sha: [t.text for t in texts if t.source == "print"] for sha, texts in material.texts.items()}
    return {sha: found for sha, found in lines.items() if found}


def _no_reading(display: DisplayReading, name: str, texts: Sequence[SeenText] | None) -> str:
    """Why a photo gave no reading; one that shows nothing to read is proof of what it shows."""
    if not display.display_seen:
        if texts:
            return f"{name}: kept as proof; no display is in it."
        return (
            f"{name}: kept as proof; no display, plate or label was found in it. If it should show a gauge: "
            "go close, hold the camera straight at it, and take it again."
        )
    reason = (display.reason or "no reason was given").rstrip(".")
    return f"{name}: no reading: {reason}."


def _notices(material: Material, said: labels.Said) -> list[str]:
    names = _names(material.captures)
    notices = list(material.notices)
    for notes in material.notes:
        notices += [f"{names[notes.capture]}: {sentence}" for sentence in notes.attention]
        if not notes.findings and not notes.attention:
            notices.append(f"{names[notes.capture]}: no finding was heard in it.")
    for display in material.displays:
        if display.text is None:
            notices.append(_no_reading(display, names[display.capture], material.texts.get(display.capture)))
    for capture in sorted(material.texts, key=lambda sha: names[sha]):
        notices += labels.notices(names[capture], material.texts[capture], said)
    zoneless = [c.original_name for c in material.captures if c.time_source == "file_time"]
    if zoneless:
        notices.append(f"Time of {', '.join(zoneless)} is that of the file: it may be when it was copied.")
    return notices


def _vin(said: str | None, truck: TruckSettings) -> tuple[str | None, list[str]]:
    """The VIN of the record and what is doubtful about it.

    One that the shop has on file goes before one that was said: that is never sure, because letters that
    rhyme also count alike in its check.
    """
    if truck.vin is not None:
        differs = said is not None and said != truck.vin
        taken = f"VIN {said} was heard, but the shop has {truck.vin} on file for this unit: that is taken."
        return truck.vin, [taken] if differs else []
    if said is None:
        return None, []
    try:
        problems = report(said, truck.gross_weight_lb).problems
    except VinError as error:
        return said, [f"VIN {said} as heard: {error}"]
    return said, [f"VIN {said} was heard, not read: compare it with the plate.", *problems]


History = Callable[[str], Sequence[Record]]
"""The signed records of a unit."""


def draw_up(
    id: str, unit: str | None, material: Material, shop: Workshop, history: History | None = None
) -> Record:
    """The draft record of one inspection.

    Args:
        id: its UUID.
        unit: the unit as the folder or the reviewer names it; else the one that was said counts.
        material: what the stages made.
        shop: the tools.
        history: where earlier signed records of the truck are kept, if anywhere.
    """
    captures = sorted(material.captures, key=lambda c: (c.captured_at, c.sha256))
    order = {c.sha256: i for i, c in enumerate(captures)}
    notes = sorted(material.notes, key=lambda n: order[n.capture])
    displays = questioned(sorted(material.displays, key=lambda d: order[d.capture]), shop.gauges)
    paired = pair(captures, notes, displays, prints=_prints(material))
    findings = with_doubts(paired.findings, {d.capture: d for d in displays}, shop.gauges)
    said = [n.unit for n in notes if n.unit]
    name = unit or (said[0] if said else None)
    truck = shop.settings.truck_of(name)
    vin, doubts = _vin(next((n.vin for n in notes if n.vin), None), truck)
    odometer = next((n.odometer for n in notes if n.odometer), None)
    known = labels.Said(name, vin, odometer, truck.gross_weight_lb)
    notices = [*_notices(material, known), *paired.notices, *doubts]
    vin = vin or labels.certain_vin([text for texts in material.texts.values() for text in texts])
    others = sorted({u for u in said if unit is not None and u.upper() != unit.upper()})
    if others:
        notices.append(f"Unit {', '.join(others)} was said in a note of unit {unit}.")
    plan = shop.plans.choose(name, truck.plan)
    record = Record(
        inspection=Inspection(
            id=id,
            unit=name,
            vin=vin,
            odometer=odometer,
            started_at=captures[0].captured_at,
            ended_at=max(end_of(c) for c in captures),
        ),
        findings=judge(findings, shop.limits, truck, shop.rules, head_facts(name, vin)),
        captures=tuple(captures),
        notices=tuple(dict.fromkeys(notices)),
        plan_name=plan.name if plan is not None else None,
        plan=plan.items if plan is not None else (),
    )
    if history is not None and name is not None:
        record = record.model_copy(update={"wear": wear(record, history(name))})
    return with_estimate(checked(record), shop.repairs)


def with_estimate(record: Record, repairs: RepairTable | None) -> Record:
    """The record with its estimate found anew; without one where the shop has no table of repairs."""
    return record.model_copy(update={"estimate": estimate(record, repairs)})
