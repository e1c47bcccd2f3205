"""Corrections: what was said first is replaced, never kept beside."""

import re
from dataclasses import replace

from models.units import UNITS
from pipelines.notes import context, mentions
from pipelines.notes.binding import Choice
from pipelines.notes.claims import Claim
from pipelines.notes.frame import PLAYS, Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.numbers import NumberSpan
from pipelines.notes.walk import Walk

_STILL = "A correction was said behind it, and then another part was read: is it still right?"
_FORGET = re.compile(
    r"\b(?:forget|scratch|drop|ignore|toss|throw|lose|disregard|never mind)\s+(?:out\s+)?(?:the|that|my)\s+$",
    re.I,
)
_AGAIN = re.compile(
    r"\b(?:(?:i|we)\s+(?:just\s+|had to\s+|have to\s+|went and\s+)?"
    r"(?:look|check|measure|read|pull|tri|try|took|take|did|do|got|get|test|shot|shoot|mik|mic|ran|run)(?:ed|e|ked)?"
    r"|(?:let me|i'll|let's)\s+[^\W\d_]+)\b"
    r"[^.?!;,]{0,40}\b(?:again|once more|one more time|a second time)\b",
    re.I,
)
_SEVERAL = re.compile(r"\b(?:both|those|these|they|all)\b", re.I)
# The sentence of the second look and the one behind it.
_SECOND_LOOK = 2
# So many words may stand between a cue and what it leads to.
_NEAR = 4
_FAR = 20


def correction(w: Walk, i: int) -> None:
    """The next number, place or part replaces the last reading; "scratch that" alone drops it."""
    frame = w.frame
    drops = w.row[i].cue("drop") or "scratch" in w.text[w.row[i].start : w.row[i].end].lower()
    if drops and _drops_marks(w, i):
        return
    if frame.last is None or frame.correcting:
        return
    if _goes_on(w, i, frame.last, far=drops or w.row[i].cue("mistake")):
        frame.correcting, w.corrected_from = True, w.row[i].end
    elif drops:
        remove_last(w)
    elif w.row[i].cue("mistake") and _goes_elsewhere(w, i, frame.last):
        _doubt_last(w)


def _drops_marks(w: Walk, i: int) -> bool:
    """Take back conditions and actions of an earlier window, where nothing else was said last.

    A number close behind means the reading before them: "worn. Scratch that, five millimeters".
    """
    if not w.frame.told or any(claim.kind != "orphan" for claim in w.claims):
        return False
    last, reading = w.frame.told[-1], w.frame.last
    if last.kind not in ("condition", "action") or (reading is not None and reading in w.frame.told):
        return False
    if reading is not None and _goes_on(w, i, reading, far=True):
        return False
    for claim in w.frame.told:
        drop_earlier(w, claim)
    return True


def looks_again(w: Walk) -> None:
    """A sentence that tells of a second look: a reading of what was read last takes its place."""
    end = next((i.start for i in w.row if i.is_break and i.strong and i.start >= w.sentence_start), None)
    if _AGAIN.search(w.text, w.sentence_start, len(w.text) if end is None else end):
        w.frame.paused = max(w.frame.paused, _SECOND_LOOK)


def slips(w: Walk, i: int) -> bool:
    """Whether "er" stands between two numbers: "a hundred eighty, er, a hundred eighty five"."""
    before = next((item for item in reversed(w.row[:i]) if not item.is_break), None)
    after = next((item for item in w.row[i + 1 :] if not item.is_break), None)
    if before is None or after is None or before.number is None or after.number is None:
        return False
    gaps = w.text[before.end : w.row[i].start] + w.text[w.row[i].end : after.start]
    return not re.search(r"\w", gaps)


def of_condition(w: Walk, i: int) -> bool:
    """Take back the condition said last, when another follows or it is dropped: "cracked. I mean torn"."""
    last = w.claims[-1] if w.claims else None
    if last is None or last.kind not in ("condition", "action"):
        return False
    rest = (item for item in w.row[i + 1 :] if not (item.is_break or item.cue("correction")))
    following = next(rest, None)
    close = following is not None and _count_words(w, w.row[i].end, following.start) <= _NEAR
    again = following is not None and following.named(last.kind) is not None and close and not says_no(w, i)
    of_number = following is not None and following.number is not None and close
    if again or (w.row[i].cue("drop") and not of_number):
        w.claims.pop()
        return True
    return False


def of_another(w: Walk, end: Item) -> bool:
    """Whether the sentence before a break says that the last reading was of another truck."""
    sentence = w.text[w.sentence_start : end.start].lower()
    fillers = w.vocabulary.fillers
    things = "|".join((*fillers["vehicles"], *fillers["sources"], "paper", "list", "one"))
    others = "|".join(fillers["others"])
    whose = rf"(?:[^\W\d_]+'s|his|their|the (?:{others})|{others})"
    return re.search(rf"\bthat(?:'s| is| was)\s+{whose}\s+(?:\w+\s+)?(?:{things})\s*$", sentence) is not None


def retract(w: Walk, i: int) -> None:
    """The last reading is taken back; the next number may take its place."""
    last = w.frame.last
    if last is None or w.frame.correcting:
        return
    if _goes_on(w, i, last, far=True):
        w.frame.correcting, w.corrected_from = True, w.row[i].end
    else:
        remove_last(w)


def swap(w: Walk, i: int) -> None:
    """For example "other way round": the last two readings of one measure change places."""
    if len(w.frame.recent) < 2:
        return
    one, other = w.frame.recent[-2:]
    if (one.component, one.measure) != (other.component, other.measure) or one.position == other.position:
        return
    for claim in (one, other):
        if claim in w.claims:
            w.claims.remove(claim)
        else:
            drop_earlier(w, claim)
    start, end = w.row[i].start, w.row[i].end
    swapped = [
        replace(one, position=other.position, start=start, end=end),
        replace(other, position=one.position, start=start, end=end),
    ]
    w.claims += swapped
    w.frame.recent[-2:], w.frame.last = swapped, swapped[-1]


def _alike(one: Claim, other: Claim) -> bool:
    """Whether two readings are of one measure at one place of one part."""
    return (one.component, one.measure, one.position) == (other.component, other.measure, other.position)


def restated(w: Walk, claim: Claim) -> Claim | None:
    """A reading of the same thing as the one before it: "two thirty-five. Hang on. Two fifty"; else None.

    Play that is said without its direction is of the direction said before.
    """
    last = w.frame.last
    if last is not None and claim.measure in PLAYS and last.measure in PLAYS and not w.measure_here:
        claim = replace(claim, measure=last.measure)
    return claim if last is not None and _alike(last, claim) else None


def stands_alone(w: Walk, i: int) -> bool:
    """Whether item `i` stands between breaks: "Wait, ..."."""
    before, after = w.row[i - 1] if i else None, w.row[i + 1] if i + 1 < len(w.row) else None
    apart = after is None or (after.is_break and not w.text[w.row[i].end : after.start].strip())
    return apart and (before is None or before.is_break)


def said_behind(w: Walk, i: int) -> bool:
    """For example "twelve one. Twelve two, sorry": the last reading takes the place of the one before it."""
    closes = i + 1 >= len(w.row) or (w.row[i + 1].is_break and w.row[i + 1].strong)
    readings = [k for k, claim in enumerate(w.claims) if claim.kind == "reading"]
    if not closes or len(readings) < 2 or "sorry" not in w.text[w.row[i].start : w.row[i].end].lower():
        return False
    if _alike(*(w.claims[k] for k in readings[-2:])):
        del w.claims[readings[-2]]
        return True
    return False


def _goes_on(w: Walk, i: int, last: Claim, *, far: bool) -> bool:
    """Whether what takes the place of the last reading follows item `i`.

    A number or place comes within a few words; a number may come up to two sentences later, if what was said
    was a mistake (`far`) and no other part is named before it.
    """
    ends, other = 0, False
    for item in w.row[i + 1 :]:
        words = _count_words(w, w.row[i].end, item.start)
        ends += item.is_break and item.strong
        part = item.named("component")
        if part is not None and not mentions.in_excuse(w, item):
            other = part.name != last.component
            if other and not far:
                return False
        if words > (_FAR if far else _NEAR) or ends > 2:
            return False
        if item.number is not None and not _counts(w, item):
            return not other
        several = _SEVERAL.search(w.text, w.row[i].end, item.start) is not None
        if item.named("place") and words <= _NEAR + 2 * several and (not ends or not far):
            if not says_no(w, i):
                return True
            axis = item.labels[0].axis
            if getattr(last.position, axis) not in [label.name for label in item.labels]:
                return False  # "No. Right one, ten" answers and goes on
    return False


def _goes_elsewhere(w: Walk, i: int, last: Claim) -> bool:
    """Whether a number of another part follows item `i`, and none of the part read last."""
    other = False
    for item in w.row[i + 1 :]:
        part = item.named("component")
        if part is not None and part.name == last.component:
            return False
        other = other or part is not None
        if item.number is not None:
            return other and _count_words(w, w.row[i].end, item.start) <= _FAR
    return False


def _count_words(w: Walk, start: int, end: int) -> int:
    return len(re.findall(r"[^\W_]+(?:'[^\W_]+)?", w.text[start:end]))


def tells_place(w: Walk, i: int, component: str) -> bool:
    """Whether item `i` only tells where the last reading belongs: "that was the left king pin"."""
    last = w.frame.last
    behind = (item for item in w.row[:i] if item.start >= w.corrected_from and item.named("place"))
    if last is None or last.component != component or not near(w, next(behind, w.row[i])):
        return False
    for item in w.row[i + 1 :]:
        if item.is_break and item.strong:
            return any(other.named("place") for other in w.row[:i] if other.start >= w.corrected_from)
        if item.number is not None:
            return False
    return False


def near(w: Walk, item: Item) -> bool:
    """Whether an item stands close behind the cue of the correction at hand."""
    several = _SEVERAL.search(w.text, w.corrected_from, item.start) is not None
    return _count_words(w, w.corrected_from, item.start) <= _NEAR + 2 * several


def _counts(w: Walk, item: Item) -> bool:
    return bool(context.counted_thing(w.text, item, w.row, w.plain, w.vocabulary.fillers["pieces"]))


def denies(w: Walk, item: Item) -> bool:
    """Whether a number is said not to be the one: "seventy nine, not seventy one"; the reading of it goes."""
    k = w.row.index(item)
    before, last = w.row[k - 1] if k else None, w.frame.last
    assert item.number is not None
    values = {reading.value for reading in item.number.readings}
    if _FORGET.search(w.text, w.sentence_start, item.start):
        scale = w.frame.scale.factor if w.frame.scale is not None else 1
        values |= {value * scale for value in values}
    elif before is None or w.text[before.start : item.start].lower().split() != ["not"]:
        return False
    while k + 1 < len(w.row) and w.row[k + 1].number and w.text[w.row[k].end : w.row[k + 1].start].isspace():
        k += 1
        w.taken.add(k)  # "zero point one five, not one two"
    for j in range(len(w.claims) - 1, -1, -1):
        claim = w.claims[j]
        if claim.kind == "reading" and last is not None and claim.value in values and _alike(claim, last):
            del w.claims[j]
            break
    else:
        if last is not None and last.value in values and last not in w.claims:
            remove_last(w)  # it was read in an earlier window
    return True


def says_no(w: Walk, i: int) -> bool:
    """Whether "no" stands alone between breaks, as in "six. No, five"."""
    item = w.row[i]
    alone = i + 1 < len(w.row) and w.row[i + 1].is_break and (i == 0 or w.row[i - 1].is_break)
    return alone and item.cue("negation") and w.text[item.start : item.end].lower() == "no"


def misses(w: Walk, choice: Choice, span: NumberSpan) -> bool:
    """Whether a bare number cannot be what the reading to be corrected is of: it corrects nothing."""
    last, best = w.frame.last, span.readings[0]
    if not w.frame.correcting or last is None or w.frame.component != last.component or w.measure_here:
        return False
    bare = best.unit is None and best.kind is None and not best.denominator
    return bare and last.unit in UNITS and UNITS[choice.unit].dimension != UNITS[last.unit].dimension


def replacing(w: Walk, claim: Claim) -> Claim:
    """The corrected reading: same part and place as the one it replaces, unless said anew."""
    last = _meant(w, claim)
    if claim.component != last.component and claim.value != last.value:
        _doubt_last(w)
        return claim
    remove(w, last)
    if claim.component != last.component:
        return claim
    part = w.vocabulary.components[claim.component]
    said = [i for i in w.row if i.named("place") and w.corrected_from <= i.start < claim.start]
    anew = {axis: value for axis, value in places_of(said, part).items() if axis in part.axes}
    position = last.position.with_keys(**anew)
    known = claim.unit in UNITS and last.unit in UNITS
    alike = known and UNITS[claim.unit].dimension == UNITS[last.unit].dimension
    measure = last.measure if alike else claim.measure
    return replace(claim, position=position, group=last.group, measure=measure)


def _meant(w: Walk, claim: Claim) -> Claim:
    """The reading that is corrected: the last one, or an earlier one of the measure named with it."""
    last = w.frame.last
    assert last is not None
    if claim.position != last.position:
        alike = [c for c in w.frame.recent if _alike(c, claim)]
        if alike:
            return alike[-1]  # "correction, the outer is eight": not the inner, which was read last
    if not w.measure_here or w.frame.measure in (None, last.measure):
        return last
    recent = (c for c in reversed(w.frame.recent) if c.component == claim.component == last.component)
    return next((c for c in recent if c.measure == w.frame.measure), last)


def correct_place(w: Walk, run: list[Item]) -> None:
    """Move the last reading to the place said behind a correction."""
    frame, last = w.frame, w.frame.last
    assert last is not None
    part = w.vocabulary.components[last.component]
    if all(getattr(last.position, a) == v for a, v in places_of(run, part).items()):
        return  # "correction on that inner one": what follows corrects it
    places = {a: v for a, v in places_of(run, part).items() if a in part.axes}
    following = w.near(w.row.index(run[-1]), 1)
    told = any(_alike(replace(last, position=last.position.with_keys(**places)), c) for c in frame.recent)
    if told and following is not None and following.number is not None:
        frame.places.update(places)
        return  # "correction, the outer is eight": not what was read last
    remove_last(w)
    if _SEVERAL.search(w.text, w.corrected_from, run[0].start):
        _move_beside(w, last, places, run[0])
    claim = replace(last, position=last.position.with_keys(**places), start=run[0].start, end=run[-1].end)
    frame.places.update(places)
    frame.note_header(places)
    w.claims.append(claim)
    frame.last = claim
    frame.correcting = following is not None and following.number is not None


def _move_beside(w: Walk, last: Claim, places: Places, said: Item) -> None:
    """Move the other readings of this measure at this corner: "both of those pads are right front"."""
    corner = last.position.with_keys(face=None, spot=None)
    for claim in w.frame.recent[:-1]:
        same = (claim.component, claim.measure) == (last.component, last.measure)
        if same and claim.position.with_keys(face=None, spot=None) == corner and claim != last:
            remove(w, claim)
            position = claim.position.with_keys(**places)
            w.claims.append(replace(claim, position=position, start=said.start, end=said.end))


def _doubt_last(w: Walk) -> None:
    """Ask about the last reading: a correction of another part followed it."""
    assert w.frame.last is not None
    w.claims.append(replace(w.frame.last, kind="ask", doubts=(_STILL,), start=0, end=0))


def remove(w: Walk, claim: Claim) -> None:
    """Take back a reading, the last one or an earlier one."""
    if claim == w.frame.last:
        remove_last(w)
    elif claim in w.claims:
        w.claims.remove(claim)
    else:
        drop_earlier(w, claim)


def drop_earlier(w: Walk, claim: Claim) -> None:
    """Take back a claim of an earlier window: it is not said again with "the same" either."""
    w.frame.told = [told for told in w.frame.told if told != claim]
    w.claims.append(replace(claim, kind="drop", start=0, end=0))


def remove_last(w: Walk) -> None:
    """Take back the last reading; one of an earlier window is taken back by a claim that says so."""
    last = w.frame.last
    assert last is not None
    for k in range(len(w.claims) - 1, -1, -1):
        if w.claims[k].kind == "reading":
            del w.claims[k]
            return
    drop_earlier(w, last)
