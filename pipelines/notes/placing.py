"""Places: which part, or what was said of it, a run of place words belongs to."""

import re
from dataclasses import replace

from models.vocabulary import Component
from pipelines.notes import corrections, diagonals, repeats, together
from pipelines.notes.doubts import place_doubts
from pipelines.notes.frame import COARSE, FINE, HEADING_LASTS, OPPOSITE, SPOT_MEASURES, Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.together import THE
from pipelines.notes.walk import Walk

# How sure a part is that was not named: asked about.
_IMPLIED = 0.8
_ON_IT = re.compile(
    r"(?:\s+(?:flat|even|there|still|left|now|only|or so|of tread|or something)){0,2}"
    r"\s+(?:on|at|in|for|that of)\s+(?:the|its|that|this)?\s*|\s+(?:the\s+)?",
    re.I,
)
# Between place words of one run: anything but what begins something new.
_BETWEEN = re.compile(
    r"(?!.*\b(?:where|while|but|then|has|had|is|was|reads|got|shows|measures)\b).*", re.I | re.S
)
_THATS = re.compile(
    r"\s*(?:that's|that is|that was|those are|those were|these are)\s+(?:on\s+)?(?:the\s+)?", re.I
)
_OF = re.compile(r"\s+of\s+(?:the|this|that|its)\s+", re.I)
_HAS = re.compile(r"\s+(?:one\s+)?(?:has|had|is|was|reads|shows|got|measures|gives|comes)\b", re.I)


def other_side(w: Walk) -> None:
    """What follows is on the other side of the same part: "other side, fifteen point oh eight"."""
    part = w.frame.part(w.vocabulary)
    side = {**w.frame.header, **w.frame.explicit()}.get("side")
    if part is None or "side" not in part.axes or side not in OPPOSITE:
        return
    places: Places = {"side": OPPOSITE[str(side)]}
    w.frame.note_header(places)
    w.frame.again(places)


def _takes_places(w: Walk, j: int) -> bool:
    """Whether place words in front belong to item `j`."""
    item = w.row[j]
    named = item.named("component") or item.named("head") or item.named("area")
    return bool(named) or item.cue("same") or (item.cue("both") and part_next(w, j))


def part_next(w: Walk, i: int) -> bool:
    """Whether a part comes right behind item `i`, with or without its place: "both front tires"."""
    j = i + 1
    while j < len(w.row) and w.row[j].named("place"):
        j += 1
    return j < len(w.row) and w.row[j].named("component") is not None


def _heads_sentence(w: Walk, j: int) -> bool:
    """Whether a break stands at item `j` and a part right behind it: "Left front. Ball joint ..."."""
    if j + 1 >= len(w.row) or not w.row[j].is_break or not w.row[j + 1].named("component"):
        return False
    return w.row[j].strong or THE.fullmatch(w.text, w.row[j].end, w.row[j + 1].start) is not None


def place_run(w: Walk, i: int) -> int:
    """Place words in a row: they belong to what is before or behind them."""
    j = i + 1
    while j < len(w.row) and w.row[j].named("place") and _goes_with(w, j) and not _new_clause(w, i, j):
        j += 1
    run = w.row[i:j]
    run, j = together.with_next(w, run, j)
    before = _before(w, i)
    pair = together.pair(w, run)
    if three := together.three(w, run, j):
        names = [next(label.name for label in item.labels if label.axis == "spot") for item in three]
        repeats.spread(w, "spot:" + "+".join(names))
        return w.row.index(three[-1]) + 1
    if pair:
        _say_of_two(
            w, *together.third(w, i), *pair, ahead=j < len(w.row) and w.row[j].named("component") is not None
        )
        run = [item for item in run if item not in pair]
        if not run:
            return j
    after = _behind(w, run[-1], j)
    opens = before is None or before.is_break or _only_cues_before(w, i)
    if before is not None and before.cue("same_way"):
        _same_way(w, run)
        return j
    if before is not None and before.cue("same") and _same_part(w, j):
        repeats.same(w, places_of(run, w.frame.part(w.vocabulary)), w.row[j].end)
        w.named_here = True
        return j + 1
    if after is not None and _takes_places(w, w.row.index(after)):
        w.pending = run
    elif after is None and opens and len(run) < 3:
        w.frame.trailing = run
        attach(w, run, before, after, opens)
    elif before is not None and before.cue("same"):
        repeats.same(w, places_of(run, w.frame.part(w.vocabulary)), run[-1].end)
    elif w.frame.correcting and corrections.near(w, run[0]):
        corrections.correct_place(w, run)
    elif opens and _heads_sentence(w, j):
        w.frame.note_header(places_of(run, None), HEADING_LASTS)
        w.pending = run
    else:
        attach(w, run, before, after, opens)
    return j


def _behind(w: Walk, last: Item, j: int) -> Item | None:
    """The item behind a place; what is at hand named with "of" is passed over: "middle of the tread"."""
    label = w.row[j].named("component") if j < len(w.row) else None
    at_hand = label is not None and label.name == w.frame.component and w.named_here
    at_hand = at_hand or (j < len(w.row) and w.row[j].named("measure") is not None)
    if at_hand and _OF.fullmatch(w.text, last.end, w.row[j].start):
        w.taken.add(j)
    return next((w.row[k] for k in range(j, len(w.row)) if k not in w.taken), None)


def _same_way(w: Walk, run: list[Item]) -> None:
    """The same face or spot at another corner: "do the same on the right", "at the same spot on the left"."""
    fine = {axis: value for axis, value in w.frame.explicit().items() if axis in FINE}
    part = w.frame.part(w.vocabulary)
    places = {**places_of(run, part), **fine}
    w.frame.note_header(places)
    last = w.claims[-1] if w.claims else None
    if part is not None and last is not None and last.start >= w.sentence_start:
        _move_last(w, places, part)
    else:
        w.frame.again(places)


def _only_cues_before(w: Walk, i: int) -> bool:
    """Whether nothing but turns of speech stand between item `i` and the break before it: "across to the"."""
    for item in reversed(w.row[:i]):
        if item.is_break:
            return True
        # "around to the right front" is no hedge
        if not any(item.cue(name) for name in ("across", "idiom", "talk", "going", "hedge", "start")):
            return False
    return True


def at_a_piece(w: Walk) -> None:
    """Places before a piece of the part at hand are that part's: "shackle at the left rear spring"."""
    part = w.frame.part(w.vocabulary)
    if not w.pending or not w.named_here or part is None or w.frame.content:
        return
    places = {axis: value for axis, value in places_of(w.pending, part).items() if axis in part.axes}
    w.frame.note_header(places)
    w.frame.places.update(places)
    w.frame.fresh |= set(places)
    w.pending = []


def _goes_with(w: Walk, j: int) -> bool:
    """Whether place words go on at item `j`: no verb and no new clause stands between."""
    return _BETWEEN.fullmatch(w.text, w.row[j - 1].end, w.row[j].start) is not None


def _new_clause(w: Walk, i: int, j: int) -> bool:
    """Whether a side behind a spot opens what is said next: "seven in the middle and the right has six"."""
    fine = any(label.axis in FINE for label in w.row[i].labels)
    coarse = all(label.axis in COARSE for label in w.row[j].labels)
    return fine and coarse and _HAS.match(w.text, w.row[j].end) is not None


def _before(w: Walk, i: int) -> Item | None:
    """The item before a place; a part that stood behind its number is passed over for that number."""
    k = i - 1
    while w.value_first and k > 0 and k in w.taken:
        k -= 1
    return w.row[k] if k >= 0 else None


def _say_of_two(w: Walk, *items: Item, ahead: bool) -> None:
    """What was just said, or is said next, holds for these places of a part that may come yet (`ahead`)."""
    part = w.frame.part(w.vocabulary)
    places = [places_of([item], part) for item in items]
    axis = next(iter(places[0]))
    both = f"{axis}:{'+'.join(str(place.get(axis, '')) for place in places)}"
    if ahead:
        w.both_ahead = both
        return
    w.frame.both = both
    if w.frame.content:
        repeats.spread(w, w.frame.both)


def _same_part(w: Walk, j: int) -> bool:
    """Whether item `j` names the part at hand once more: "the same in the right rear shackle"."""
    label = w.row[j].named("component") if j < len(w.row) else None
    return label is not None and label.name == w.frame.component


def attach(w: Walk, run: list[Item], before: Item | None, after: Item | None, opens: bool) -> None:
    """Give a run of place words to the part at hand, to what was just said of it, or to what follows."""
    frame = w.frame
    part = _beside(w, run, after) if opens else frame.part(w.vocabulary)
    places = places_of(run, part)
    if part is not None and "index" in part.axes:
        diagonals.diagonal(w, places, closes=diagonals.behind_number(w, before))
        return
    frame.note_header(places)
    if part is None or not any(axis in part.axes for axis in places):
        if opens:
            w.pending = run if part is None else []
        return
    to_number = after is not None and after.number is not None
    clashes = any(axis in frame.explicit() for axis in places)
    follows_number = before is not None and before.number is not None
    if not frame.content:
        said = {axis: value for axis, value in frame.explicit().items() if axis in frame.fresh}
        twice = [a for a in places if a in COARSE and said.get(a, places[a]) != places[a]]
        frame.clash = ", ".join(f"{said[a]} and {places[a]}".replace("_", " ") for a in twice)
        frame.places.update(places)
        frame.fresh |= set(places)
        if frame.both and "side" in places:
            frame.both = repeats.both_of(w, frame.both, part, places)  # "both front pads on the left"
    elif _tells_where(w, run, after):
        _give_place(w, places, part)
    elif _follows_values(w, run, after):
        _move_sentence(w, places, part)
    elif before is not None and _said_before(w, run, before, after):
        _move_last(w, places, part, together.heading(w, run))
    elif before is not None and _closes_sentence(w, places, before, after):
        _belongs_behind(w, places, part)
    elif (follows_number or not opens) and not clashes and (frame.number_first or not to_number):
        frame.places.update(places)
        place_last(w, places, part.axes)
    else:
        frame.again({**together.heading(w, run), **places})


def _beside(w: Walk, run: list[Item], after: Item | None) -> Component | None:
    """The part at hand, or that beside it which has faces: "left rotor 29. Outer eight, inner seven"."""
    part = w.frame.part(w.vocabulary)
    faces = any(label.axis == "face" for item in run for label in item.labels)
    if part is None or part.beside is None or not faces or after is None or after.number is None:
        return part
    kept = {axis: value for axis, value in w.frame.explicit().items() if axis in COARSE}
    w.frame.start(part.beside, kept, _IMPLIED)
    w.frame.named_as = w.text[run[0].start : run[-1].end]
    return w.frame.part(w.vocabulary)


def _said_before(w: Walk, run: list[Item], before: Item, after: Item | None) -> bool:
    """Whether the place stands behind what is said of it: "ten on the outer", "no leaks on the right"."""
    last = w.claims[-1] if w.claims else None
    k = w.row.index(before)
    if before.named("measure") and k and w.row[k - 1].number is not None:
        before = w.row[k - 1]  # "nine thousandths radial in the right"
    if before.named("component") and k and w.row[k - 1].named("condition"):
        before = w.row[k - 1]  # "a loose lug nut on axle three right"
    if last is None or last.end != before.end or last.group != w.frame.group or w.frame.both:
        return False
    if after is not None and after.number is not None and _HAS.match(w.text, run[-1].end):
        return False  # "seven millimeters in the inner one is six": "and" as a recogniser writes it
    gap = _ON_IT.fullmatch(w.text, w.row[w.row.index(run[0]) - 1].end, run[0].start)
    if gap is None or (
        after is not None and not after.is_break and w.text[run[-1].end : after.start].isspace()
    ):
        return False
    return bool(gap.group().strip()) or (w.frame.number_first and before.number is not None)


def _tells_where(w: Walk, run: list[Item], after: Item | None) -> bool:
    """Whether a sentence says where the readings before it are: "that's driver front"."""
    ends = after is None or (after.is_break and after.strong)
    return ends and _THATS.fullmatch(w.text, w.sentence_start, run[0].start) is not None


def _give_place(w: Walk, places: Places, part: Component) -> None:
    """Give a place to the last claims, which are of one part at one corner."""
    fitting = {axis: value for axis, value in places.items() if axis in part.axes}
    corner = w.claims[-1].position.with_keys(face=None, spot=None) if w.claims else None
    for k in range(len(w.claims) - 1, -1, -1):
        claim = w.claims[k]
        if claim.component != w.frame.component or claim.position.with_keys(face=None, spot=None) != corner:
            break
        doubts = tuple(d for d in claim.doubts if not d.startswith("Nobody said which"))
        w.claims[k] = replace(claim, position=claim.position.with_keys(**fitting), doubts=doubts)
    w.frame.places.update(fitting)


def _follows_values(w: Walk, run: list[Item], after: Item | None) -> bool:
    """Whether a corner stands behind what opens its sentence: "nine thirty-seconds, right rear"."""
    if w.named_here or not (after is None or after.is_break) or w.frame.both:
        return False
    row = [item for k, item in enumerate(w.row) if k not in w.taken]
    said = [item for item in row if w.sentence_start <= item.start < run[0].start]
    opens = bool(said) and said[0].number is not None
    corner = any(label.axis in COARSE for item in run for label in item.labels)
    numbers = [item for item in said if not (item.is_break or item.named("measure"))]
    if not (opens and corner and numbers and all(item.number is not None for item in numbers)):
        return False
    goes_on = w.row[w.row.index(run[-1]) + 1 :][1:2]
    return after is None or after.strong or not (goes_on and goes_on[0].number is not None)


def _move_sentence(w: Walk, places: Places, part: Component) -> None:
    """Give a place to all that the sentence says so far."""
    w.frame.again(places)
    position = w.frame.position(part)
    for k in range(len(w.claims) - 1, -1, -1):
        claim = w.claims[k]
        if claim.start < w.sentence_start or claim.component != w.frame.component:
            break
        fine = {axis: getattr(claim.position, axis) or getattr(position, axis) for axis in FINE}
        there = position.with_keys(**(fine if claim.measure in SPOT_MEASURES else {"spot": None}))
        doubts = tuple(d for d in claim.doubts if not d.startswith("Nobody said which"))
        w.claims[k] = replace(claim, position=there, group=w.frame.group, doubts=doubts)
    if w.claims and w.claims[-1].kind == "reading":
        w.frame.last = w.claims[-1]
    w.frame.content = True


def _closes_sentence(w: Walk, places: Places, before: Item, after: Item | None) -> bool:
    """Whether a corner closes the sentence of a part named without one: "lug nuts, 450 pounds, left rear"."""
    last = w.claims[-1] if w.claims else None
    rest = w.row[w.row.index(after) :] if after is not None else []
    end = next((k for k, item in enumerate(rest) if item.is_break and item.strong), len(rest))
    ends = not any(i.number is not None or i.named("component") for i in rest[:end])
    marked = last is not None and last.kind in ("condition", "action") and ends
    closes = before.is_break and not before.strong
    closes = closes and (after is None or (after.is_break and (after.strong or marked)))
    coarse = any(axis in COARSE for axis in places) and w.named_here
    fine = last is not None and last.measure in SPOT_MEASURES and set(places) == {"spot"} and ends
    return (
        closes
        and (coarse or fine)
        and not w.frame.fresh & set(places)
        and last is not None
        and last.end <= before.start
    )


def _belongs_behind(w: Walk, places: Places, part: Component) -> None:
    """Give the place to all that the sentence says; it is a question when another place was carried over."""
    fitting = {axis: value for axis, value in places.items() if axis in part.axes}
    for k in range(len(w.claims) - 1, -1, -1):
        claim = w.claims[k]
        if claim.group != w.frame.group or claim.start < w.sentence_start:
            break
        doubts = tuple(d for d in claim.doubts if not d.startswith("Nobody said which"))
        carried = claim.position.keys()
        if any(carried.get(axis, value) != value for axis, value in fitting.items()):
            doubts += (f"Its place was said behind it; without that it would be {claim.position.words()}.",)
        position = claim.position.with_keys(**fitting)
        if claim.kind == "reading" and claim.measure not in SPOT_MEASURES:
            position = position.with_keys(spot=None)
        w.claims[k] = replace(claim, position=position, doubts=doubts)
    w.frame.places.update(places)
    if w.claims[-1].kind == "reading":
        w.frame.last = w.claims[-1]


def _move_last(w: Walk, places: Places, part: Component, heading: Places | None = None) -> None:
    """Give what was just said to another place of the same part; the next of a list may do the same."""
    frame = w.frame
    clash = _contradicted(w, places)
    frame.again({**(heading or {}), **places})
    position = frame.position(part)
    if w.claims[-1].kind == "reading" and w.claims[-1].measure not in SPOT_MEASURES:
        position = position.with_keys(spot=None)
    doubts = tuple(d for d in w.claims[-1].doubts if not d.startswith("Nobody said which")) + place_doubts(w)
    doubts += tuple(f"Two places were said for this: {both}.".replace("_", " ") for both in clash)
    start, doubts = w.claims[-1].start, tuple(dict.fromkeys(doubts))
    for k in (k for k, claim in enumerate(w.claims) if claim.start == start):  # "no play" is a zero as well
        w.claims[k] = replace(w.claims[k], position=position, group=frame.group, doubts=doubts)
    frame.number_first, frame.content = True, True
    if w.claims[-1].kind == "reading":
        frame.last = w.claims[-1]


def _contradicted(w: Walk, places: Places) -> list[str]:
    """What contradicts places behind a first reading: "right rear tire, eight thirty-seconds on the left"."""
    first = sum(claim.group == w.frame.group for claim in w.claims) == 1
    said = w.frame.name_places if w.named_here and first and not w.value_first else {}
    both = [(said[axis], places[axis]) for axis in COARSE if axis in said and axis in places]
    return [f"{one} and {other}" for one, other in both if one != other]


def place_last(w: Walk, places: Places, axes: tuple[str, ...]) -> None:
    """Give a place to what was just said."""
    fitting = {axis: value for axis, value in places.items() if axis in axes}
    for k in range(len(w.claims) - 1, -1, -1):
        if w.claims[k].group != w.frame.group:
            break
        w.claims[k] = replace(w.claims[k], position=w.claims[k].position.with_keys(**fitting))
    if w.frame.number_first and w.frame.last is not None and w.claims:
        w.frame.last = w.claims[-1]
    if w.frame.number_first:
        # The next number of the list is about another place.
        w.frame.group += 1
        for axis in ("face", "spot"):
            w.frame.places.pop(axis, None)
        w.frame.content = False
