"""Measures and numbers: what each number says of the part at hand."""

import re
from dataclasses import replace

from models.places import Position
from models.vocabulary import Component
from pipelines.notes import bystanders, context, corrections, diagonals, listing, repeats, weighing
from pipelines.notes.binding import Choice, choose
from pipelines.notes.claims import Claim
from pipelines.notes.doubts import context_doubts, place_doubts
from pipelines.notes.frame import PLAYS, SPOT_MEASURES, places_of
from pipelines.notes.items import Item
from pipelines.notes.numbers import NumberSpan
from pipelines.notes.walk import Walk
from pipelines.notes.weighing import IMPOSSIBLE

_RECENT = 8
_NEXT_CLAUSE = re.compile(r"\b(?:and|then|but)\b", re.I)


def measure(w: Walk, i: int) -> None:
    """A measure was named: it holds for the number behind it, or for the one just before."""
    frame = w.frame
    labels = [label for label in w.row[i].labels if label.kind == "measure"]
    part = frame.part(w.vocabulary)
    fitting = next((m.name for m in labels if part and m.name in part.measures), None)
    if len(_owners(w, labels[0].name)) == 1:
        w.unknown = False  # it names its part, whatever else the sentence is about
    if w.measure_here and (frame.measure, fitting) == ("pressure_after_hold", "pressure"):
        return  # "after the hold, the system pressure stood at thirteen"
    if part is not None and fitting is None and w.named_here and not part.fluid:
        plays = not frozenset(PLAYS).isdisjoint(part.measures)
        part = w.vocabulary.broadly(part)
        fitting = next(
            (m.name for m in labels if m.name in part.measures and not (plays and m.name in PLAYS)), None
        )
    if fitting is None:
        w.measures_ahead = tuple(label.name for label in labels)
        implied(w, labels[0].name, i)
        _doubt_misnamed(w, i)
        return
    last = w.claims[-1] if w.claims else None
    before, after = w.near(i, -1), w.near(i, 1)
    closes = before is not None and before.number is not None and (after is None or after.number is None)
    closes = closes and not (before and _NEXT_CLAUSE.search(w.text, before.end, w.row[i].start))
    if closes and last is not None and last.kind == "reading" and last.group == frame.group:
        assert part is not None
        if last.unit in part.measures[fitting] or (last.measure in PLAYS and fitting in PLAYS):
            w.claims[-1] = replace(last, measure=fitting)
            frame.last = w.claims[-1]
            if frame.measure is None:
                frame.measure = w.measure_behind = fitting
        return
    frame.measure = fitting
    w.measure_here = True


def _doubt_misnamed(w: Walk, i: int) -> None:
    """A doubt when the measure right behind a reading is none of its part: "pitman arm, 9/32 thick"."""
    last = w.claims[-1] if w.claims else None
    if last is None or last.kind != "reading" or w.text[last.end : w.row[i].start].strip():
        return
    names = {label.name for label in w.row[i].labels if label.kind == "measure"}
    if last.measure not in names and names.isdisjoint(w.vocabulary.components[last.component].measures):
        said = w.text[w.row[i].start : w.row[i].end]
        doubt_last(w, f"“{said}” was said of it, which is not measured on this part.")


def _owners(w: Walk, measure: str) -> list[str]:
    return [name for name, part in w.vocabulary.components.items() if measure in part.measures]


def implied(w: Walk, measure: str, i: int) -> None:
    """A measure that the part at hand has not: it names another part, if only one has it."""
    owners = _owners(w, measure)
    recent = [claim.component for claim in w.frame.recent if claim.component in owners]
    if measure == "freeze_point" and recent:
        owners = recent[-1:]
    before = w.near(i, -1)
    if len(owners) != 1 or (w.measure_here and (before is None or before.number is None)):
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
        listed = listing.each_before_its_place(w, i)
        w.frame.number_first = listed or before is None or not before.named("place")
    hedged = i > 0 and (w.row[i - 1].cue("hedge") or w.row[i - 1].cue("bound"))
    ahead = w.row[i + 1] if i + 1 < len(w.row) else None
    beyond = w.row[i + 2] if i + 2 < len(w.row) else None
    measure = ahead.named("measure") if ahead is not None else None
    if beyond is not None and beyond.number is not None:
        measure = None  # "12.45 cold cranking 610": the measure is the next number's
    if ahead is not None and measure is not None and _NEXT_CLAUSE.search(w.text, item.end, ahead.start):
        measure = None  # "sixteen psi and after the hold it was down to fourteen"
    if measure is not None:
        _turn_to_owner(w, item, measure.name)
    take(w, item, measure.name if measure else None, hedged)


def _turn_to_owner(w: Walk, item: Item, measure: str) -> None:
    """Go to the part of this sentence that alone has the measure named behind a number.

    "I hold a ruler to the rim of the steering wheel and measure one and a half inches of free play."
    """
    part = w.frame.part(w.vocabulary)
    alike = measure in PLAYS and measure != "free_play" and set(PLAYS) & set(part.measures if part else ())
    if part is None or measure in part.measures or alike:
        return
    before = [i for i in w.row if w.sentence_start <= i.start < item.start]
    named = [label.name for i in before if (label := i.named("component")) is not None]
    owners = [name for name in named if measure in w.vocabulary.components[name].measures]
    if owners and owners[-1] != w.frame.component:
        w.frame.start(owners[-1], {}, 1.0)


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
    likely = weighing.likely_measure(w, item, ahead, part)
    choice = weighing.usual(w, item, part, likely)
    if (choice is None or choice.weight <= IMPOSSIBLE) and back_to_previous(w, span):
        take(w, item, ahead, hedged)
        return
    choice = weighing.in_pieces(w, item, part, likely) or choice
    if choice is None:
        orphan(w, item)
        return
    if corrections.misses(w, choice, span):
        orphan(w, item)
        return
    claim = replace(_claim(w, item, part, choice, likely), hedged=hedged)
    if span.readings[0].unit is not None:
        frame.weigh_system(choice.measure, choice.unit, part)
        for key in (choice.measure, frame.measure or choice.measure):
            frame.units[key] = frame.units[f"{frame.component}/{key}"] = choice.unit
    key = f"{claim.component}/{claim.position.words()}/{claim.measure}"
    vague = choice.weight <= IMPOSSIBLE and context.opens_with_thats(w.text, w.sentence_start, item.start)
    if vague or context.unlikely(claim.doubts, again=key in frame.read and not frame.correcting):
        orphan(w, item)
        return
    frame.read.add(key)
    if choice.measure == "hold_time":
        frame.held = True
    frame.scale = frame.scales[choice.measure] = choice.scale
    _go_on_with(w, choice.measure)
    state(w, claim)


def _claim(w: Walk, item: Item, part: Component, choice: Choice, likely: str | None) -> Claim:
    """The reading that a number is of the part at hand, with all that is doubtful about it."""
    frame, span = w.frame, item.number
    assert span is not None
    assert frame.component is not None
    diagonal = diagonals.which_diagonal(w, part.axes)
    position = frame.position(part)
    if choice.measure not in SPOT_MEASURES:
        position = position.with_keys(spot=None)
    elif frame.order and not position.keys().keys() & frame.order[0].keys():
        position = position.with_keys(**frame.order.pop(0))
    misfit = _misfit(w, likely, choice.measure, item)
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
        doubts=choice.doubts
        + misfit
        + diagonal
        + place_doubts(w)
        + context_doubts(w, item, choice.value, choice.measure),
        weight=choice.weight * frame.name_weight,
    )


def order(w: Walk, i: int, *, outside_first: bool) -> None:
    """The next two or three readings of the sentence are told in this order across the part."""
    rest = w.row[i + 1 :]
    ends = [k for k, item in enumerate(rest) if item.is_break and item.strong]
    counts = [sum(item.number is not None for item in rest[:end]) for end in [*ends[:2], len(rest)]]
    count = next((count for count in counts if count), 0)
    spots = {2: ["outside", "inside"], 3: ["outside", "middle", "inside"]}.get(count, [])
    w.frame.order = [{"spot": spot} for spot in (spots if outside_first else spots[::-1])]


def _go_on_with(w: Walk, measure: str) -> None:
    """A list goes on with what was read last, not with what was named in an earlier sentence."""
    if w.frame.measure is not None and not w.measure_here and measure != "hold_time":
        w.frame.measure = measure


def _misfit(w: Walk, named: str | None, measure: str, item: Item) -> tuple[str, ...]:
    """A doubt when a number fits another measure than the one named in this sentence, or right before it."""
    span, before = item.number, w.near(w.row.index(item), -1)
    assert span is not None
    said_unit = span.readings[0].unit is not None or span.readings[0].kind == "pounds"
    beside = before is not None and before.named("measure") is not None
    if (
        (said_unit and not beside)
        or not w.measure_here
        or named in (None, measure)
        or {named, measure} <= set(PLAYS)
    ):
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
    w.frame.start(previous, w.frame.previous_places, 0.8)
    w.frame.named_as = previous.replace("_", " ")
    return True


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
    elif frame.paused and (anew := corrections.restated(w, claim)):
        claim = anew
        corrections.remove_last(w)
    frame.paused = 0
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
