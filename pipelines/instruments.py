"""Display readings held against what the shop's instruments can show."""

from collections.abc import Mapping, Sequence

from models.display import DisplayReading
from models.record import Finding
from models.units import UNITS, unit
from pipelines.displays.gauges import Gauge, cannot_show

# A reading that no instrument can show is never sure enough to confirm or to overrule anything.
_DOUBTED = 0.85


def doubt(display: DisplayReading, gauges: Sequence[Gauge], measure: str | None = None) -> str | None:
    """Why none of the instruments can have shown a reading; None when one can, or when none is known for it.

    Args:
        display: with its unit.
        gauges: the shop's.
        measure: what is measured, which tells the instrument; None: any that shows the unit.
    """
    if display.value is None or display.unit is None:
        return None
    with_unit = [g for g in gauges if any(s.unit == display.unit for s in g.scales)]
    used = [g for g in with_unit if measure in g.measures] or with_unit
    reasons = [cannot_show(g, display) for g in used]
    if not reasons or None in reasons:
        return None
    if len(reasons) == 1:
        return reasons[0]
    names = ", ".join(g.words[0] for g in used)
    return (
        f"None of the shop's instruments ({names}) shows {display.text} {unit(display.unit).words}: "
        "a digit or the decimal point may be misread."
    )


def questioned(displays: Sequence[DisplayReading], gauges: Sequence[Gauge]) -> list[DisplayReading]:
    """The readings, those doubted that no instrument can show."""
    out = []
    for display in displays:
        sentence = doubt(display, gauges)
        if sentence is not None:
            reason = f"{sentence} {display.reason}" if display.reason else sentence
            confidence = min(display.confidence, _DOUBTED)
            display = display.model_copy(update={"reason": reason, "confidence": confidence})
        out.append(display)
    return out


def _in_spoken_unit(display: DisplayReading, finding: Finding) -> DisplayReading:
    """The reading in the unit that was spoken, when the display's own was not seen."""
    if display.unit is None and finding.reading is not None and finding.reading.unit in UNITS:
        return display.model_copy(update={"unit": finding.reading.unit})
    return display


def with_doubts(
    findings: Sequence[Finding], displays: Mapping[str, DisplayReading], gauges: Sequence[Gauge]
) -> tuple[Finding, ...]:
    """The findings; one whose photo shows what the instrument for its measure cannot show asks about it.

    Args:
        findings: after pairing.
        displays: by sha256 of their photos.
        gauges: the shop's.
    """
    out = []
    for finding in findings:
        said = list(finding.attention)
        for evidence in finding.evidence:
            display = displays.get(evidence.capture)
            if finding.reading is None or evidence.kind != "photo" or display is None:
                continue
            sentence = doubt(_in_spoken_unit(display, finding), gauges, finding.reading.measure)
            if sentence is not None and not any(sentence in other for other in said):
                said.append(sentence)
        out.append(finding.model_copy(update={"attention": tuple(said)}))
    return tuple(out)
