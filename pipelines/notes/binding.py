"""Which measure, value and unit a number is, given the part it was said about."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from models.units import UNITS, convert
from models.vocabulary import Component, Range
from pipelines.notes.claims import Option
from pipelines.notes.numbers import NumberReading, NumberSpan

# A value outside the plausible range is kept only when nothing else fits.
_IMPLAUSIBLE = 0.02
_INCH = "[in_i]"
# Where another unit is usual, nobody leaves these out.
_SAID_ALOUD = ("kPa", "bar")
# What is never more than so many inches is told in thousandths.
_FINE = Decimal("0.1")
# No tread of a road tire has more 32nds than this.
_DEEPEST_TREAD = 26
# Nobody says it as a number: it is worked out from a date code.
_NEVER_A_NUMBER = ("age",)
# Decimals that somebody reads aloud from a gauge; more are a slip of the recogniser (common practice).
_DECIMALS = {
    "[degF]": 1, "Cel": 1, "[psi]": 1, "kPa": 1, "bar": 2, "mm": 3, "[in_i]": 5, "V": 3, "A": 2, "%": 1,
    "[ft_i].[lbf_av]": 1, "N.m": 1, "min": 1, "s": 1,
}  # fmt: skip
_OPEN_KINDS = {
    "degrees": ("[degF]", "Cel", "deg"),
    "pounds": ("[psi]", "[ft_i].[lbf_av]"),
    "pair": ("V",),
    "speed": (),
}


@dataclass(frozen=True)
class Scale:
    """What the numbers of a list are counted in: "seven thirty-seconds outside, six in the middle".

    Attributes:
        unit: UCUM code of the last reading.
        factor: what one said unit stands for: 1/32 for thirty-seconds, 0.001 for thousandths, else 1.
    """

    unit: str
    factor: Decimal = Decimal(1)


class Choice(NamedTuple):
    """The reading that fits best.

    Attributes:
        options: other values that the same words can mean, best first.
        doubts: sentences for a person.
        weight: how well it fits, 0 to 1.
        scale: what the next numbers of a list are counted in.
    """

    measure: str
    value: Decimal
    unit: str
    weight: float
    options: tuple[Option, ...]
    doubts: tuple[str, ...]
    scale: Scale


class _Fit(NamedTuple):
    score: float
    weight: float  # the score without the measure's share in it
    measure: str
    value: Decimal
    unit: str
    reading: NumberReading
    plausible: bool
    scale: Scale


def _in_ranges(value: Decimal, unit: str, ranges: dict[str, Range]) -> bool | None:
    """Whether a value is plausible; None when no range is of its dimension."""
    if unit in ranges:
        low, high = ranges[unit]
        return low <= value <= high
    for other, (low, high) in ranges.items():
        if UNITS[other].dimension == UNITS[unit].dimension:
            return low <= convert(value, unit, other) <= high
    return None


def _too_fine(value: Decimal, unit: str, reading: NumberReading) -> bool:
    if reading.denominator:
        return False  # "fifteen and a quarter" is no finer than its words
    exponent = value.as_tuple().exponent
    return isinstance(exponent, int) and -exponent > _DECIMALS.get(unit, 6)


def scale_of(reading: NumberReading, value: Decimal, unit: str) -> Scale:
    """What the numbers of a list are counted in, told by one of them: eighths, thousandths, a unit."""
    if reading.denominator and reading.denominator >= 8:
        return Scale(unit, Decimal(1) / reading.denominator)
    exponent = value.as_tuple().exponent
    if unit == _INCH and isinstance(exponent, int) and exponent <= -3 and 0 < abs(value) < 1:
        return Scale(unit, Decimal("0.001"))
    return Scale(unit)


_Value = tuple[Decimal, str, float, Scale]


def _units(
    reading: NumberReading, measure: str, ranges: dict[str, Range], scale: Scale | None, said: str | None
) -> Iterator[_Value]:
    """The values a reading can be in the units of a measure, with how usual each is."""
    value = reading.value
    if reading.unit is not None:
        yield value, reading.unit, 1.0, scale_of(reading, value, reading.unit)
    elif reading.kind == "mil":
        yield value / 1000, _INCH, 0.5, Scale(_INCH, Decimal("0.001"))
        yield value, "mm", 0.5, Scale("mm")
    elif reading.kind in _OPEN_KINDS:
        if reading.kind == "pair" and measure == "inside_diameter" and _INCH in ranges:
            yield value, _INCH, 0.9, Scale(_INCH)
        if reading.kind == "pair" and said == "mm" and said in ranges:
            yield value, said, 0.9, Scale(said)
        usual = sorted((u for u in _OPEN_KINDS[reading.kind] if u in ranges), key=lambda unit: unit != said)
        for rank, unit in enumerate(usual):
            yield value, unit, 0.95 - 0.25 * rank, Scale(unit)
    else:
        if scale is not None and scale.unit in ranges:
            yield from _listed(reading, scale)
        if said in ranges and said is not None:
            yield value, said, 0.95, scale_of(reading, value, said)
        yield from _in_parts(value, measure, ranges)
        yield from _bare(reading, ranges)


def _listed(reading: NumberReading, scale: Scale) -> Iterator[_Value]:
    """A number without a unit goes on in what the list is counted in."""
    value, counted = reading.value, reading.value * scale.factor
    whole = value == value.to_integral_value()
    half = value > 1 and reading.denominator == 2 and scale.factor < Decimal("0.05")
    if scale.factor != 1 and (whole or half):
        thousandths = whole and scale.factor == Decimal("0.001")
        exact = counted.quantize(Decimal("0.001")) if thousandths else counted.normalize()
        yield exact, scale.unit, 1.0, scale
    yield value, scale.unit, 0.97, scale_of(reading, value, scale.unit)


def _in_parts(value: Decimal, measure: str, ranges: dict[str, Range]) -> Iterator[_Value]:
    """A whole number of what is always counted in parts of an inch: "outside nine", "runout six"."""
    if value != value.to_integral_value() or value <= 0 or _INCH not in ranges:
        return
    if measure == "tread_depth" and value <= _DEEPEST_TREAD:
        yield (value / 32).normalize(), _INCH, 0.92, Scale(_INCH, Decimal(1) / 32)
    if ranges[_INCH][1] <= _FINE and value < 100:
        yield value / 1000, _INCH, 0.5, Scale(_INCH, Decimal("0.001"))


def _bare(reading: NumberReading, ranges: dict[str, Range]) -> Iterator[_Value]:
    """A number in the usual units of its measure."""
    value = reading.value
    looks_inch = abs(value) < 1 and value != 0 and _INCH in ranges and -value.as_tuple().exponent >= 2  # type: ignore[operator]
    for rank, unit in enumerate(ranges):
        if unit in _SAID_ALOUD and rank:
            continue
        if unit == "mm" and (reading.denominator or 0) >= 4:
            continue  # nobody counts millimeters in quarters or eighths
        usual = 0.9 - 0.25 * rank
        if looks_inch:
            usual = 0.9 if unit == _INCH else 0.3
        yield value, unit, usual, scale_of(reading, value, unit)


def _fits(
    span: NumberSpan,
    part: Component,
    hint: str | None,
    scale: Scale | None,
    said: Mapping[str, str],
    scales: Mapping[str, Scale],
) -> Iterator[_Fit]:
    for rank, (measure, ranges) in enumerate(part.measures.items()):
        if measure in _NEVER_A_NUMBER:
            continue
        prior = 1.0 if measure == hint else (0.6 if hint is None else 0.25) * 0.9**rank
        listed = scale if scale is not None and scale.unit in ranges else scales.get(measure)
        for reading in span.readings:
            for value, unit, usual, counted in _units(reading, measure, ranges, listed, said.get(measure)):
                plausible = _in_ranges(value, unit, ranges)
                if plausible is None:
                    continue
                plausible = plausible and not _too_fine(value, unit, reading)
                weight = reading.weight * usual
                score = prior * weight * (1.0 if plausible else _IMPLAUSIBLE)
                yield _Fit(score, weight, measure, value, unit, reading, plausible, counted)


def choose(
    span: NumberSpan,
    part: Component,
    hint: str | None,
    scale: Scale | None,
    said: Mapping[str, str] = MappingProxyType({}),
    scales: Mapping[str, Scale] = MappingProxyType({}),
) -> Choice | None:
    """The measure, value and unit that fit best, or None when the part has no measure of that kind.

    Args:
        span: a number with its readings.
        part: what it was said about.
        hint: the measure that was named, if any.
        scale: what the last number of the same list was counted in.
        said: the unit that was said aloud the last time each measure was read.
        scales: for measures that `scale` does not fit: what each was counted in the last time.
    """
    fits = sorted(_fits(span, part, hint, scale, said, scales), key=lambda f: -f.score)
    if not fits:
        return None
    best = fits[0]
    options: dict[tuple[Decimal, str], Option] = {}
    for fit in fits[1:]:
        same = (fit.value, fit.unit) == (best.value, best.unit)
        if fit.measure == best.measure and fit.plausible and not same and fit.score > 0.15 * best.score:
            options.setdefault((fit.value, fit.unit), Option(fit.value, fit.unit, fit.weight / 2))
    counted = scale if scale is not None and scale.unit == best.unit else scales.get(best.measure)
    unit = said.get(best.measure)
    doubts = _doubts(span, best, fits, unit) + _assumed_unit(best, part, counted, unit)
    weight = best.weight if best.plausible else 0.1
    return Choice(best.measure, best.value, best.unit, weight, tuple(options.values()), doubts, best.scale)


def _assumed_unit(best: _Fit, part: Component, scale: Scale | None, said: str | None) -> tuple[str, ...]:
    """A doubt when the unit was neither said nor is the usual one of this measure."""
    if best.reading.unit or best.reading.kind or best.reading.denominator:
        return ()
    usual = next(iter(part.measures[best.measure]))
    if best.value != best.reading.value and (scale is None or scale.factor == 1):
        return (f"No unit was said: taken as {best.value:f} {UNITS[best.unit].words}.",)
    thousandth_mm = best.unit == "mm" and -best.value.as_tuple().exponent >= 3  # type: ignore[operator]
    known = (best.unit in (usual, said) and not thousandth_mm) or (
        scale is not None and scale.unit == best.unit
    )
    fine = -best.value.as_tuple().exponent >= 3 and best.unit == _INCH  # type: ignore[operator]
    if known or fine:
        return ()
    return (f"No unit was said: {best.value:f} was taken as {UNITS[best.unit].words}.",)


def _doubts(span: NumberSpan, best: _Fit, fits: list[_Fit], said: str | None) -> tuple[str, ...]:
    doubts = []
    if best.reading.doubt:
        doubts.append(best.reading.doubt)
    words = UNITS[best.unit].words
    vague = best.unit == "Cel" or best.measure == "freeze_point"
    if best.reading.kind == "degrees" and vague and said != best.unit:
        other = UNITS["[degF]" if best.unit == "Cel" else "Cel"].words
        doubts.append(f"No scale was said: {best.value:f} {words} or {other}?")
    if _too_fine(best.value, best.unit, best.reading):
        doubts.append(f"{best.value:f} {words} is outside what a gauge shows: heard “{span.text.strip()}”.")
    elif not best.plausible:
        doubts.append(
            f"{best.value:f} {words} is outside what this part can have: heard “{span.text.strip()}”."
        )
    for fit in fits[1:] if best.unit != said else []:
        rival = fit.measure == best.measure and fit.plausible and fit.score > 0.75 * best.score
        if rival and fit.reading == best.reading and (fit.value, fit.unit) != (best.value, best.unit):
            other = f"{fit.value:f} {UNITS[fit.unit].words}"
            doubts.append(f"No unit was said: {best.value:f} {words} or {other}?")
            break
    return tuple(doubts)
