"""Which of the two diagonals of a frame is meant."""

import re
from dataclasses import replace

from pipelines.notes.frame import Places
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

_WHICH = {"one": 1, "1": 1, "two": 2, "2": 2}
_DIAGONAL = re.compile(r"\bdiagonal(?:\s+number)?\s+$", re.I)


def which_diagonal(w: Walk, axes: tuple[str, ...]) -> tuple[str, ...]:
    """A doubt when a frame diagonal is stated and nobody said which; it is taken as the first."""
    if "index" not in axes or "index" in w.frame.explicit():
        return ()
    w.frame.places["index"] = 1
    return ("Which diagonal this is was not heard: taken as left front to right rear.",)


def other_diagonal(w: Walk, i: int) -> bool:
    """Whether "the other way" closes the diagonal just stated: it is the second one then."""
    last = w.claims[-1] if w.claims else None
    before = w.row[i - 1] if i else None
    if (
        last is None
        or before is None
        or before.number is None
        or last.end != before.end
        or last.kind != "reading"
    ):
        return False
    if last.position.index is None:
        return False
    doubts = tuple(d for d in last.doubts if not d.startswith("Which diagonal"))
    w.claims[-1] = replace(last, position=last.position.with_keys(index=2), doubts=doubts)
    return True


def diagonal(w: Walk, places: Places, *, closes: bool) -> None:
    """Corner to corner: 1 is left-front to right-rear, 2 the other.

    Args:
        w: the walk.
        places: the corner said last.
        closes: the corners stand behind their number.
    """
    side, axle = places.get("side"), places.get("axle")
    if side is None or axle is None:
        return
    index = 1 if (side == "left") == (axle == "front") else 2
    last = w.claims[-1] if w.claims else None
    if closes and last is not None and last.kind == "reading":
        w.claims[-1] = replace(
            last,
            position=last.position.with_keys(index=index),
            doubts=tuple(d for d in last.doubts if not d.startswith("Which diagonal")),
        )
        w.frame.again({})
        w.frame.places = {}
        return
    if "index" in w.frame.places and not w.frame.content:
        return
    if w.frame.content:
        w.frame.again({})
    w.frame.places = {"index": index}


def names_diagonal(w: Walk, item: Item) -> bool:
    """Whether a number only says which of the two it is: "frame diagonal one is ..."."""
    part = w.frame.part(w.vocabulary)
    said = w.text[item.start : item.end].lower()
    if part is None or "index" not in part.axes or said not in _WHICH:
        return False
    if _DIAGONAL.search(w.text, w.sentence_start, item.start) is None:
        return False
    if w.frame.content:
        w.frame.again({})
    w.frame.places = {"index": _WHICH[said]}
    return True


def behind_number(w: Walk, before: Item | None) -> bool:
    """Whether a number stands right before a place, or opened the sentence: "240, right front to left"."""
    if before is None or before.number is not None:
        return before is not None and w.frame.number_first
    k = w.row.index(before)
    opens = k > 0 and w.row[k - 1].number is not None and (k == 1 or w.row[k - 2].is_break)
    return before.is_break and not before.strong and opens
