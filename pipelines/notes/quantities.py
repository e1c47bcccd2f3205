"""Measures and numbers: what each number says of the part at hand."""

from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal

from models.places import Position
from models.vocabulary import Component
from pipelines.notes import bystanders, context, corrections, repeats
from pipelines.notes.binding import Choice, Scale, choose, scale_of
from pipelines.notes.claims import Claim
from pipelines.notes.doubts import context_doubts, place_doubts
from pipelines.notes.frame import SPOT_MEASURES, places_of
from pipelines.notes.items import Item
from pipelines.notes.numbers import NumberSpan
from pipelines.notes.walk import Walk

PLAYS = ("play", "axial_play", "radial_play", "end_play", "free_play")
# Those that are counted in thousandths.
_SMALL_PLAYS = frozenset(PLAYS) - {"free_play"}
# So far back, in letters, the last sentence may reach.
_CLOSE = 60
# The weight of a reading that its part cannot have.
IMPOSSIBLE = 0.1
_RECENT = 8


def measure(w: Walk, i: int) -> None:
    """A measure was named: it holds for the number behind it, or for the one just before."""
    frame = w.frame
    labels = [label for label in w.row[i].labels if label.kind == "measure"]
    part = frame.part(w.vocabulary)
    fitting = next((m.name for m in labels if part and m.name in part.measures), None)
    if fitting is None:
        w.measures_ahead = tuple(label.name for label in labels)
        implied(w, labels[0].name, i)
        return
    last = w.claims[-1] if w.claims else None
    before, after = w.near(i, -1), w.near(i, 1)
    closes = before is not None and before.number is not None and (after is None or after.number is None)
    if closes and last is not None and last.kind == "reading" and last.group == frame.group:
        assert part is not None
        if last.unit in part.measures[fitting] or (last.measure in PLAYS and fitting in PLAYS):
            w.claims[-1] = replace(last, measure=fitting)
            frame.last = w.claims[-1]
        return
    frame.measure = fitting
    w.measure_here = True


def implied(w: Walk, measure: str, i: int) -> None:
    """A measure that the part at hand has not: it names another part, if only one has it."""
    owners = [name for name, part in w.vocabulary.components.items() if measure in part.measures]
    before = w.near(i, -1)
    if len(owners) != 1:
        return
    w.frame.start(owners[0], places_of(w.pending, w.vocabulary.components[owners[0]]), 0.9)
    w.pending = []
    w.frame.measure = measure
    last = w.claims[-1] if w.claims else None
    if before is not None and before.number is not None and last is not None and last.end == before.end:
        # "four degree split": the number came first
        gone = w.claims.pop()
        w.frame.read.discard(f"{gone.component}/{gone.position.words()}/{gone.measure}")
        take(w, before)


def number(w: Walk, i: int) -> None:
    """State the number of item `i`."""
    item = w.row[i]
    before = w.near(i, -1)
    if not w.frame.content and not w.frame.correcting:
        w.frame.number_first = before is None or not before.named("place")
    hedged = i > 0 and (w.row[i - 1].cue("hedge") or w.row[i - 1].cue("bound"))
    ahead = w.row[i + 1] if i + 1 < len(w.row) else None
    beyond = w.row[i + 2] if i + 2 < len(w.row) else None
    measure = ahead.named("measure") if ahead is not None else None
    if beyond is not None and beyond.number is not None:
        measure = None  # "12.45 cold cranking 610": the measure is the next number's
    take(w, item, measure.name if measure else None, hedged)


def take(w: Walk, item: Item, ahead: str | None = None, hedged: bool = False) -> None:
    """State a number about the part at hand."""
    frame, span = w.frame, item.number
    part = frame.part(w.vocabulary)
    assert span is not None
    if not span.readings:
        doubt_last(w, "A part of an inch was said here that could not be read.")
        return
    if bystanders.says_nothing(w, item):
        return
    if bystanders.is_told(w, item) or part is None or frame.component is None:
        orphan(w, item)
        return
    likely = hint(w, ahead, part.measures.keys())
    scale = frame.scale or _scale_ahead(w, item, part) or _scale_before(w, part.measures)
    said = frame.said_unit(likely or next(iter(part.measures), ""))
    choice = choose(span, part, likely, scale, said, frame.scales)
    if (choice is None or choice.weight <= IMPOSSIBLE) and back_to_previous(w, span):
        take(w, item, ahead, hedged)
        return
    choice = _torn_apart(w, item, part, likely) or choice
    if choice is None:
        orphan(w, item)
        return
    claim = replace(_claim(w, item, part, choice, likely), hedged=hedged)
    if span.readings[0].unit is not None:
        for key in (choice.measure, frame.measure or choice.measure):
            frame.units[key] = frame.units[f"{frame.component}/{key}"] = choice.unit
    key = f"{claim.component}/{claim.position.words()}/{claim.measure}"
    if context.unlikely(claim.doubts, again=key in frame.read and not frame.correcting):
        orphan(w, item)
        return
    frame.read.add(key)
    if choice.measure == "hold_time":
        frame.held = True
    frame.scale = frame.scales[choice.measure] = choice.scale
    _go_on_with(w, choice.measure)
    state(w, claim)


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
    hundreds_torn = ten.value in range(100, 1000, 100) and 10 <= ones < 100 and not _can_be(behind, part)
    if not (bare and counted and (tens_torn or hundreds_torn)):
        return None
    reading = one.model_copy(update={"value": (ten.value + ones) * scale.factor})
    choice = choose(behind.model_copy(update={"readings": (reading,)}), part, likely, None)
    if choice is None or choice.weight <= IMPOSSIBLE:
        return None
    w.taken.add(k + 2)
    said = w.text[item.start : w.row[k + 2].end].strip()
    return choice._replace(doubts=(*choice.doubts, f"“{said}” was taken as one number."))


def _claim(w: Walk, item: Item, part: Component, choice: Choice, likely: str | None) -> Claim:
    """The reading that a number is of the part at hand, with all that is doubtful about it."""
    frame, span = w.frame, item.number
    assert span is not None
    assert frame.component is not None
    diagonal = which_diagonal(w, part.axes)
    position = frame.position(part)
    if choice.measure not in SPOT_MEASURES:
        position = position.with_keys(spot=None)
    elif frame.order and position.spot is None:
        position = position.with_keys(spot=frame.order.pop(0))
    misfit = _misfit(w, likely, choice.measure, span)
    return Claim(
        kind="reading",
        component=frame.component,
        position=position,
        group=frame.group,
        start=item.start,
        end=item.end,
        measure=choice.measure,
        value=choice.value,
        unit=choice.unit,
        options=choice.options,
        given=span.text.strip(),
        doubts=choice.doubts + misfit + diagonal + place_doubts(w) + context_doubts(w, item, choice.value),
        weight=choice.weight * frame.name_weight,
    )


def order(w: Walk, i: int, *, outside_first: bool) -> None:
    """The next two or three readings of the sentence are told in this order across the part."""
    rest = w.row[i + 1 :]
    ends = [k for k, item in enumerate(rest) if item.is_break and item.strong]
    counts = [sum(item.number is not None for item in rest[:end]) for end in [*ends[:2], len(rest)]]
    count = next((count for count in counts if count), 0)
    spots = {2: ["outside", "inside"], 3: ["outside", "middle", "inside"]}.get(count, [])
    w.frame.order = spots if outside_first else spots[::-1]


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


def _go_on_with(w: Walk, measure: str) -> None:
    """A list goes on with what was read last, not with what was named in an earlier sentence."""
    if w.frame.measure is not None and not w.measure_here and measure != "hold_time":
        w.frame.measure = measure


def fits(w: Walk, i: int, part: int) -> bool:
    """Whether the number of item `i` can be a reading of the part named by item `part`."""
    span, label = w.row[i].number, w.row[part].named("component")
    assert span is not None
    assert label is not None
    return _can_be(span, w.vocabulary.components[label.name])


def _can_be(span: NumberSpan, part: Component) -> bool:
    choice = choose(span, part, None, None)
    return choice is not None and choice.weight > IMPOSSIBLE


def _misfit(w: Walk, named: str | None, measure: str, span: NumberSpan) -> tuple[str, ...]:
    """A doubt when a number fits another measure than the one named in this sentence."""
    said_unit = span.readings[0].unit is not None or span.readings[0].kind == "pounds"
    if said_unit or not w.measure_here or named in (None, measure) or {named, measure} <= set(PLAYS):
        return ()
    if (named, measure) in (("thickness_variation", "thickness"), ("pressure", "pressure_after_hold")):
        return ()
    assert named is not None
    words = (named.replace("_", " "), measure.replace("_", " "))
    return (f"“{span.text.strip()}” does not fit the {words[0]} that was named: taken as {words[1]}.",)


def back_to_previous(w: Walk, span: NumberSpan) -> bool:
    """Go back to the part named before this one, if the number fits that and not this."""
    previous = w.frame.previous
    part = w.vocabulary.components.get(previous) if previous else None
    choice = choose(span, part, None, None) if part is not None else None
    if previous is None or choice is None or choice.weight <= IMPOSSIBLE:
        return False
    w.frame.start(previous, {}, 0.8)
    w.frame.named_as = previous.replace("_", " ")
    return True


def which_diagonal(w: Walk, axes: tuple[str, ...]) -> tuple[str, ...]:
    """A doubt when a frame diagonal is stated and nobody said which; it is taken as the first."""
    if "index" not in axes or "index" in w.frame.explicit():
        return ()
    w.frame.places["index"] = 1
    return ("Which diagonal this is was not heard: taken as left front to right rear.",)


def hint(w: Walk, ahead: str | None, measures: Collection[str]) -> str | None:
    """The measure that a number is most likely of."""
    frame = w.frame
    if ahead is not None and ahead in measures:
        return ahead
    if frame.held and "pressure_after_hold" in measures:
        return "pressure_after_hold"
    return frame.measure


def orphan(w: Walk, item: Item) -> None:
    """Something that was heard, but not of which part: said in the record, never guessed at."""
    assert item.number is not None
    reading = item.number.readings[0]
    before = w.row[w.row.index(item) - 1] if w.row.index(item) else None
    if before is not None and before.number is not None:
        doubt_last(w, f"“{item.number.text.strip()}” was said right behind it.")
    fraction = (reading.denominator or 0) >= 8
    whole = reading.value == reading.value.to_integral_value()
    bare = reading.unit is None and reading.kind is None and not fraction and whole
    if bare and reading.value <= bystanders.COUNTED and not item.number.text[0].isdigit():
        return  # "one" and "two" are said all the time
    w.claims.append(
        Claim(
            "orphan",
            "",
            Position(),
            w.frame.group,
            item.start,
            item.end,
            value=reading.value,
            unit=reading.unit or "",
        )
    )


def state(w: Walk, claim: Claim) -> None:
    """Add a reading, put it in the place of a corrected one, or state it for both sides."""
    frame = w.frame
    if frame.correcting:
        claim = corrections.replacing(w, claim)
        frame.correcting = False
    w.claims.append(claim)
    say_of_other(w, claim)
    frame.last, frame.content = claim, True
    frame.recent = [*frame.recent[1 - _RECENT :], claim]
    if frame.both:
        repeats.spread(w, frame.both)


def say_of_other(w: Walk, claim: Claim) -> None:
    """State it for the other part too, when two were named together."""
    if w.also is None:
        return
    component, position = w.also
    same_kind = not claim.measure or claim.measure in w.vocabulary.components[component].measures
    if same_kind:
        w.claims.insert(len(w.claims) - 1, replace(claim, component=component, position=position))


def doubt_last(w: Walk, doubt: str) -> None:
    """Add a doubt to the last reading."""
    if w.claims and w.claims[-1].kind == "reading":
        last = w.claims[-1]
        w.claims[-1] = replace(last, doubts=(*last.doubts, doubt), weight=last.weight * 0.3)
