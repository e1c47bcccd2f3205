"""Words that steer the reading: repetitions, both sides, corrections, orders and units of what follows."""

import re

from pipelines.notes import corrections, diagonals, placing, quantities, repeats
from pipelines.notes.frame import SPOKEN_UNITS, Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

_WORD = re.compile(r"\s+([^\W\d_]+)")
# So many sentences may pass between "hang on" and what is said anew.
_SENTENCES = 3
# "that same rotor" repeats nothing
_POINTS = re.compile(r"\b(?:that|this)\s+$", re.I)
_OF_THEM = re.compile(r"both of (?:them|those|these)\s*(?:[.;]|$)", re.I)
_NUMBER = re.compile(r"\s+(?:number|numbers|reading|readings|value|values)\b", re.I)
_GOES_ON = re.compile(r"on|at|for|here|there|as|in|too|again|with|over|story|thing|way|number|reading", re.I)


def cue(w: Walk, i: int) -> None:
    """Do what the cue of item `i` asks for."""
    item = w.row[i]
    if item.cue("correction") or item.cue("drop") or corrections.says_no(w, i):
        if not corrections.of_condition(w, i) and not corrections.said_behind(w, i):
            corrections.correction(w, i)
            if not w.frame.correcting:
                w.frame.paused = _SENTENCES  # what was read last may still be said anew
    elif item.cue("slip") and corrections.slips(w, i):
        corrections.correction(w, i)
    elif item.cue("pause") or (item.cue("alone") and corrections.stands_alone(w, i)):
        w.frame.paused = _SENTENCES
    elif item.cue("same"):
        _same(w, i)
    elif item.cue("both") or item.cue("all_round"):
        _both(w, i)
    elif item.cue("outside_in") or item.cue("inside_out"):
        quantities.order(w, i, outside_first=item.cue("outside_in"))
    elif item.cue("other_side"):
        placing.other_side(w)
    elif item.cue("other_way"):
        _other_way(w, i)
    else:
        _units(w, item)


def _same(w: Walk, i: int) -> None:
    item, following = w.row[i], w.near(i, 1)
    said = w.text[item.start : item.end].lower()
    if ("thing" in said and _told_next(w, i)) or (said == "same" and _POINTS.search(w.text, 0, item.start)):
        return
    if said == "same as" and _like_another(w, i):
        return
    if _same_number(w, i):
        return
    if _same_measure(w, i):
        return
    label = following.named("component") if following is not None else None
    if (
        said in ("same", "the same")
        and label is not None
        and label.name == w.frame.component
        and _told_next(w, i)
    ):
        return  # "same rotor, runout four thousandths"
    behind = _WORD.match(w.text, item.end)
    if behind and said in ("same", "the same") and not _GOES_ON.fullmatch(behind.group(1)):
        explained = any(other.start == behind.start(1) and not other.named("head") for other in w.row)
        if not explained:
            return  # "same spot"
    if w.pending or following is None or not following.named("place"):
        places, w.pending = places_of(w.pending, w.frame.part(w.vocabulary)), []
        repeats.same(w, places or _just_named(w), item.end)


def _just_named(w: Walk) -> Places:
    """The place of the part named right before: "the outer pad is eight, and the inner pad is the same"."""
    told = repeats.told_last(w)
    here = {axis: value for axis, value in w.frame.explicit().items() if axis in w.frame.fresh}
    named = w.named_here and not w.frame.content and bool(told) and told[-1].component == w.frame.component
    return here if named and any(getattr(told[-1].position, axis) != here[axis] for axis in here) else {}


def _same_measure(w: Walk, i: int) -> bool:
    """For example "right front, same tread, but twenty nine pounds": one reading has been said before."""
    k = i + 1
    measure = w.row[k].named("measure") if k < len(w.row) else None
    behind = next((item for item in w.row[k + 1 :] if not item.cue("idiom")), None)
    if measure is None or not (behind is None or behind.is_break):
        return False
    if w.pending:
        w.frame.again(places_of(w.pending, w.frame.part(w.vocabulary)))
        w.pending = []
    if not repeats.same_measure(w, measure.name, w.row[i].end):
        return False
    w.taken.add(k)
    return True


def _same_number(w: Walk, i: int) -> bool:
    """Whether a correction of a place adds that the number stands: "make that the right, same number"."""
    if _NUMBER.match(w.text, w.row[i].end) is None:
        return False
    here = [item for item in w.row[:i] if item.start >= w.sentence_start]
    # A recogniser makes a sentence of its own of it: "Make that the right rear. Same number."
    said = here if any(item.named("place") or item.named("component") for item in here) else w.row[:i]
    return any(item.cue("correction") or item.cue("mistake") for item in said)


def _like_another(w: Walk, i: int) -> bool:
    """For example "right front, same as the left": the place at hand has what was just said of the other."""
    k = i + 1
    while k < len(w.row) and w.row[k].named("place"):
        k += 1
    here = {axis: value for axis, value in w.frame.explicit().items() if axis in w.frame.fresh}
    if k == i + 1 or w.frame.content or not here:
        return False
    w.taken.update(range(i + 1, k))
    repeats.same(w, here, w.row[k - 1].end)
    return True


def _told_next(w: Walk, i: int) -> bool:
    """Whether the part is given a number up to the next sentence's end: "Same thing. Right pin, forty"."""
    ends = [k for k in range(i, len(w.row)) if w.row[k].is_break and w.row[k].strong]
    rest = w.row[i + 1 : ends[1] if len(ends) > 1 else None]
    labels = [item.named("component") for item in rest]
    named = any(label is not None and label.name == w.frame.component for label in labels)
    return named and any(item.number is not None for item in rest)


def _both(w: Walk, i: int) -> None:
    item, before = w.row[i], w.near(i, -1)
    if item.cue("both") and ":" in (w.frame.both or ""):
        return  # "inner and outer both"
    if w.also or (i and w.row[i - 1].cue("same")):
        return
    if item.cue("both") and len({claim.component for claim in repeats.two_told(w)}) == 2:
        return  # "the belt is glazed and the tensioner noisy, replace both"
    if (
        item.cue("both")
        and w.claims
        and (before is None or before.is_break)
        and repeats.two_faces(w, w.claims[-1])
    ):
        return
    if before is not None and before.named("area") and not placing.part_next(w, i):
        return  # "brakes all around" opens a list
    which = "sides" if item.cue("both") else "all"
    one_side = w.named_here and "side" in w.frame.name_places and w.frame.content
    closes = before is None or before.is_break
    if one_side and closes and _OF_THEM.match(w.text, item.start):
        return  # "left control arm bushings are torn, both of them"
    if placing.part_next(w, i):
        w.both_ahead = which
        return
    if w.claims and w.claims[-1].kind == "condition" and "way" in w.text[item.start : item.end]:
        return  # "that drum is heat checked all the way around"
    said = before is not None and not (before.named("place") or before.named("component"))
    if said and (w.frame.content or (before is not None and before.number is not None)):
        repeats.spread(w, which)
    w.frame.both = which  # for what follows in this sentence


def _other_way(w: Walk, i: int) -> None:
    part = w.frame.part(w.vocabulary)
    if part is None or "index" not in part.axes or diagonals.other_diagonal(w, i):
        return
    named = "second" in w.text[w.row[i].start : w.row[i].end].lower()
    index = w.frame.places.get("index", 1)
    w.frame.again({})
    w.frame.places = {"index": 2 if named or index == 1 else 1}


def _units(w: Walk, item: Item) -> None:
    """What numbers without a unit are counted in from here on."""
    for name, codes in SPOKEN_UNITS.items():
        if item.cue(name):
            w.frame.count_in(codes, w.vocabulary)
