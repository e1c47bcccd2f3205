"""What a number can mean for the part at hand, by what was said before it, round it and behind it."""

from collections.abc import Collection, Mapping
from decimal import Decimal

from models.units import UNITS
from models.vocabulary import Component
from pipelines.notes import context
from pipelines.notes.binding import Choice, Scale, choose, scale_of
from pipelines.notes.frame import PLAYS
from pipelines.notes.items import Item
from pipelines.notes.lexicon import SLIP_WEIGHT
from pipelines.notes.numbers import NumberSpan
from pipelines.notes.walk import Walk

# Those that are counted in thousandths.
_SMALL_PLAYS = frozenset(PLAYS) - {"free_play"}
# Those that their unit alone names.
_TOLD_BY_UNIT = ("temperature", "pressure", "torque", "voltage", "current", "resistance")
# So far back, in letters, the last sentence may reach.
_CLOSE = 60
# The weight of a reading that its part cannot have.
IMPOSSIBLE = 0.1


def usual(w: Walk, item: Item, part: Component, likely: str | None) -> Choice | None:
    """What the number of an item means: of a usual measure, else of one named or told by its unit.

    Args:
        w: the walk.
        item: the number.
        part: what it is said of.
        likely: the measure that it is most likely of, if any is known.
    """
    frame, span = w.frame, item.number
    assert span is not None
    scale = frame.scale or _scale_ahead(w, item, part) or _scale_before(w, part.measures)
    said = _said_units(w, part)
    expected = frame.expected_units(part) if scale is None else {}
    choice = choose(span, part, likely, scale, {**expected, **said}, frame.scales)
    if choice is None or choice.weight <= IMPOSSIBLE or likely not in (None, *part.measures):
        choice = _unusual(w, span, part, likely) or choice
    return _expected(choice, span, expected, said)


def in_pieces(w: Walk, item: Item, part: Component, likely: str | None) -> Choice | None:
    """What the number of an item means together with the one right behind it, where the two are one."""
    return _torn_apart(w, item, part, likely) or _tenths_behind(w, item, part, likely)


def likely_measure(w: Walk, item: Item, ahead: str | None, part: Component) -> str | None:
    """The measure that a number is most likely of.

    Args:
        w: the walk.
        item: the number.
        ahead: the measure named right behind it, if any.
        part: what it is said of.
    """
    if "pressure_after_hold" in part.measures and context.after_a_while(w.text, item):
        return "pressure_after_hold"
    return _hint(w, ahead, part.measures.keys())


def _said_units(w: Walk, part: Component) -> dict[str, str]:
    return {measure: unit for measure in part.measures if (unit := w.frame.said_unit(measure))}


def _hint(w: Walk, ahead: str | None, measures: Collection[str]) -> str | None:
    """The measure that a number is most likely of."""
    frame = w.frame
    if ahead is not None and (ahead in measures or _seldom(w, ahead, measures)):
        return ahead
    if frame.correcting and frame.last is not None and not w.measure_here and frame.last.measure in measures:
        return frame.last.measure
    if frame.held and "pressure_after_hold" in measures:
        return "pressure_after_hold"
    return frame.measure


def _seldom(w: Walk, measure: str, measures: Collection[str]) -> bool:
    """Whether a measure was said of a part that seldom has it: "radial play" of a water pump."""
    plays = measure in PLAYS and not frozenset(PLAYS).isdisjoint(measures)
    return w.named_here and measure in w.vocabulary.anywhere and not plays


def fits(w: Walk, i: int, component: str) -> bool:
    """Whether the number of item `i` can be a reading of a part."""
    span, known = w.row[i].number, w.vocabulary.components[component]
    assert span is not None
    told = span.readings and (span.readings[0].unit or span.readings[0].kind in ("degrees", "pounds"))
    choice = choose(span, w.vocabulary.broadly(known) if told else known, None, w.frame.scale)
    return choice is not None and choice.weight > IMPOSSIBLE


def can_be(span: NumberSpan, part: Component) -> bool:
    """Whether a number can be of a usual measure of a part."""
    choice = choose(span, part, None, None)
    return choice is not None and choice.weight > IMPOSSIBLE


def _unusual(w: Walk, span: NumberSpan, part: Component, likely: str | None) -> Choice | None:
    """What is seldom measured on this part, but was named or is told by its unit: a bearing's heat."""
    last = w.frame.last
    goes_on = last is not None and last.component == w.frame.component and last.measure not in part.measures
    if w.frame.name_weight < SLIP_WEIGHT:
        return None
    if goes_on and last is not None and likely in (None, last.measure):
        likely = last.measure
    elif not w.named_here and (w.frame.content or likely is None or likely != w.frame.measure):
        return None
    measures = {
        name: ranges
        for name, ranges in w.vocabulary.anywhere.items()
        if name not in part.measures and (name == likely or (likely is None and name in _TOLD_BY_UNIT))
    }
    told = span.readings[0].unit is not None or span.readings[0].kind in ("degrees", "pounds")
    if not measures or not (told or likely):
        return None
    choice = choose(span, part.model_copy(update={"measures": measures}), likely, w.frame.scale)
    return choice if choice is not None and choice.weight > IMPOSSIBLE else None


def _torn_apart(w: Walk, item: Item, part: Component, likely: str | None) -> Choice | None:
    """A number in two pieces, its unit behind a break: "seventy, four thousandths" is 0.074.

    The pieces of "three hundred, thirty point four millimeters" are one only where 30.4 mm cannot be.
    """
    k = w.row.index(item)
    tens, behind = item.number, w.row[k + 2].number if k + 2 < len(w.row) else None
    if tens is None or behind is None or not behind.readings or not w.row[k + 1].is_break:
        return None
    ten, one = tens.readings[0], behind.readings[0]
    scale = scale_of(one, one.value, one.unit or "")
    ones = one.value / scale.factor
    bare = ten.unit is None and ten.kind is None
    counted = scale.factor == Decimal("0.001") or (scale.factor == 1 and (one.unit or one.kind))
    tens_torn = ten.value in range(20, 100, 10) and ones in range(1, 10)
    hundreds_torn = ten.value in range(100, 1000, 100) and 10 <= ones < 100 and not can_be(behind, part)
    if not (bare and counted and (tens_torn or hundreds_torn)):
        return None
    reading = one.model_copy(update={"value": (ten.value + ones) * scale.factor})
    choice = choose(behind.model_copy(update={"readings": (reading,)}), part, likely, None)
    if choice is None or choice.weight <= IMPOSSIBLE:
        return None
    w.taken.add(k + 2)
    said = w.text[item.start : w.row[k + 2].end].strip()
    return choice._replace(doubts=(*choice.doubts, f"“{said}” was taken as one number."))


def _tenths_behind(w: Walk, item: Item, part: Component, likely: str | None) -> Choice | None:
    """Where millimeters are told, two digits in a row are one number: "nine five" is 9.5."""
    k, said = w.row.index(item), {**w.frame.expected_units(part), **_said_units(w, part)}
    pair, beyond = w.row[k : k + 2], w.row[k + 2 : k + 3]
    if (
        said.get(likely or next(iter(part.measures), "")) != "mm"
        or len(pair) < 2
        or not w.text[item.end : pair[1].start].isspace()
    ):
        return None
    spans = [other.number for other in pair]
    if any(span is None or not span.readings or span.readings[0].unit for span in spans):
        return None
    if beyond and beyond[0].number is not None and w.text[pair[1].end : beyond[0].start].isspace():
        return None
    head, tail = (span.readings[0].value for span in spans if span is not None)
    if not (head in range(1, 40) and tail in range(10)) or item.number is None:
        return None
    reading = item.number.readings[0].model_copy(update={"value": head + tail / 10, "kind": None})
    choice = choose(item.number.model_copy(update={"readings": (reading,)}), part, likely, None, said)
    if choice is None or choice.weight <= IMPOSSIBLE:
        return None
    w.taken.add(k + 1)
    heard = w.text[item.start : pair[1].end].strip()
    return choice._replace(doubts=(*choice.doubts, f"“{heard}” was taken as {head + tail / 10:f} mm."))


def _expected(
    choice: Choice | None, span: NumberSpan, expected: Mapping[str, str], said: Mapping[str, str]
) -> Choice | None:
    """The choice, asked about where its unit is only that of the numbers before it."""
    if choice is None or choice.measure in said or span.readings[0].unit is not None:
        return choice
    if expected.get(choice.measure) != choice.unit or not any(o.unit != choice.unit for o in choice.options):
        return choice
    doubt = f"No unit was said: taken as {UNITS[choice.unit].words}, as what was said before."
    return choice._replace(doubts=(*choice.doubts, doubt))


def _scale_ahead(w: Walk, item: Item, part: Component) -> Scale | None:
    """What a list is counted in when only its last number says so: "eight, seven, five thirty-seconds"."""
    for other in w.row[w.row.index(item) + 1 :]:
        if other.number is not None and other.number.readings:
            reading = other.number.readings[0]
            said = reading.unit or ("[in_i]" if (reading.denominator or 0) >= 8 else None)
            if said and any(said in ranges for ranges in part.measures.values()):
                return scale_of(reading, reading.value, said)
            if reading.kind or reading.denominator:
                return None
        elif not (other.named("place") or (other.is_break and not other.strong)):
            return None
    return None


def _scale_before(w: Walk, measures: Collection[str]) -> Scale | None:
    """What the part before was counted in, when both are about the same kind of play."""
    last, scale = w.frame.last, w.frame.before
    if last is None or scale is None or scale.factor == 1 or last.start < w.sentence_start - _CLOSE:
        return None
    plays = [measure for measure in measures if measure in _SMALL_PLAYS]
    return scale if last.measure in _SMALL_PLAYS and plays else None
