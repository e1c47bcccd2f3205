"""Lists that tell their numbers first: "ten, nine thirty-seconds, right rear tire, inside and outside"."""

import re
from itertools import pairwise

from pipelines.notes.frame import FINE, Places
from pipelines.notes.together import AND
from pipelines.notes.walk import Walk

# What may stand between a list of readings and the part they are of.
_THATS = re.compile(
    r"\s*(?:and\s+)?(?:(?:that's|that is|those are|these are|this is|it's|all|all on|on)\s+)*"
    r"(?:the|that|this)?\s*",
    re.I,
)

_SAYS_OF = re.compile(r"\s*(?:and\s+)?(?:that's|that is|those are|these are|this is|it's)\b", re.I)


def _sentence_end(w: Walk, i: int) -> int:
    return next((k for k in range(i, len(w.row)) if w.row[k].is_break and w.row[k].strong), len(w.row))


def _opens(w: Walk, i: int) -> bool:
    """Whether item `i` is the first of its sentence but for turns of speech."""
    return all(item.start < w.sentence_start or item.named("cue") or item.is_break for item in w.row[:i])


def _reach(w: Walk, i: int) -> int:
    """Index behind what a sentence of readings, and what is said behind it of them, takes in.

    A recogniser makes sentences of its own: "8, 8, 7/32. Right rear tire. Inside, middle and outside."
    """
    end = _sentence_end(w, i)
    if end >= len(w.row) or any(item.named("component") for item in w.row[i:end]):
        return end
    behind = _sentence_end(w, end + 1)
    said = [item for item in w.row[end + 1 : behind] if not item.is_break]
    if not said or any(item.number is not None for item in said):
        return end
    if w.row[end].end < said[0].start and _SAYS_OF.match(w.text, w.row[end].end, said[0].start):
        return behind
    named = all(item.named("place") or item.named("component") for item in said)
    places = _sentence_end(w, behind + 1)
    rest = [item for item in w.row[behind + 1 : places] if not item.is_break]
    spots = bool(rest) and all(item.named("place") for item in rest)
    return places if named and said[-1].named("component") and spots else end


def part_at_end(w: Walk, i: int) -> int:
    """Where the part stands that closes a sentence of two or more readings which opens with item `i`; else 0.

    "Nine inside, nine in the middle, eight outside, that's the left front tire."
    """
    if not _opens(w, i):
        return 0
    end = _reach(w, i)
    part = next((k for k in range(i, end) if w.row[k].named("component")), 0)
    if not part or any(item.number is not None or item.named("component") for item in w.row[part + 1 : end]):
        return 0
    first = part
    while w.row[first - 1].named("place"):
        first -= 1
    said = w.row[i:first]
    allowed = all(s.number is not None or s.is_break or s.named("place") or s.named("measure") for s in said)
    several = sum(item.number is not None for item in said) > 1
    apart = said[-1].is_break and _THATS.fullmatch(w.text, said[-1].end, w.row[first].start) is not None
    return part if allowed and several and apart else 0


def part_of_pair(w: Walk, i: int) -> int:
    """Where the part of number `i` stands in a sentence of numbers each before its part; else 0.

    "Seven sixteenths, left brake shoe, three eighths, right brake shoe."
    """
    end = _sentence_end(w, i)
    start = next((k for k in range(len(w.row)) if w.row[k].start >= w.sentence_start), i)
    marks = [k for k in range(start, end) if w.row[k].number is not None or w.row[k].named("component")]
    numbers = [w.row[k].number is not None for k in marks]
    pairs = len(marks) >= 4 and numbers == [True, False] * (len(marks) // 2)
    # "Nine millimeters, inner pad four, rotor scored": a number right behind its part is that part's.
    apart = all(_apart(w, part, number) for part, number in zip(marks[1::2], marks[2::2], strict=False))
    return marks[marks.index(i) + 1] if pairs and apart and i in marks else 0


def _apart(w: Walk, part: int, number: int) -> bool:
    """Whether a break or "and" stands between a part and the number behind it."""
    said = w.text[w.row[part].end : w.row[number].start].lower().split()
    return "and" in said or any(item.is_break for item in w.row[part + 1 : number])


def each_before_its_place(w: Walk, i: int) -> bool:
    """Whether item `i` and a number behind it each have a face or spot behind them.

    "Right front has seven thirty-seconds inside and six in the middle."
    """
    k, pairs = i, 0
    while k + 1 < len(w.row) and w.row[k].number is not None:
        places = [label for label in w.row[k + 1].labels if label.kind == "place"]
        if not places or not all(label.axis in FINE for label in places):
            return False
        k, pairs = k + 2, pairs + 1
        if k < len(w.row) and w.row[k].is_break and not w.row[k].strong:
            k += 1
    return pairs > 1


def places_behind(w: Walk, i: int) -> None:
    """Give the readings of a list, which item `i` opens, the places that are listed behind all of them.

    "Eight, eight and seven thirty-seconds, going inside, middle, outside on the right front."
    """
    if any(item.number is not None for item in w.row[:i] if item.start >= w.sentence_start):
        return
    end, k, count = _reach(w, i), i, 1
    while k + 1 < end:
        comma = w.row[k + 1].is_break
        following = k + 1 + comma
        if following >= end or w.row[following].number is None:
            break
        joined = w.text[w.row[k].end : w.row[following].start].isspace()
        if not (comma or joined or AND.fullmatch(w.text, w.row[k].end, w.row[following].start)):
            break
        k, count = following, count + 1
    if count < 2 or any(item.number is not None for item in w.row[k + 1 : end]):
        return
    listed = _run(w, k + 1, end)
    if len(listed) == count:
        w.frame.order = [places for _, places in listed]
        w.taken.update(index for index, _ in listed)


def _run(w: Walk, start: int, end: int) -> list[tuple[int, Places]]:
    """The only run of different faces or spots from item `start` on, with their indexes."""
    found: list[tuple[int, Places]] = []
    for k in range(start, end):
        label = next((one for one in w.row[k].labels if one.kind == "place" and one.axis in FINE), None)
        if label is not None:
            found.append((k, {label.axis: label.name}))
    axes = {axis for _, places in found for axis in places}
    names = {str(name) for _, places in found for name in places.values()}
    joined = all(item.is_break for (one, _), (other, _) in pairwise(found) for item in w.row[one + 1 : other])
    return found if len(axes) == 1 and len(names) == len(found) and joined else []
