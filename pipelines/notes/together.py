"""Places that are named together: "the inner and the outer", "inside, middle and outside"."""

import re
from itertools import pairwise

from pipelines.notes.frame import FINE, Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

# Words that may stand between a place or number and what it belongs to.
AND = re.compile(r"\s*(?:and|&|as well as|plus)\s+(?:(?:on|at)\s+)?(?:the\s+)?", re.I)
THE = re.compile(r"\s*(?:(?:the|that|this)\s+)?", re.I)


def heading(w: Walk, run: list[Item]) -> Places:
    """The one spot or face that a sentence names before its sides: "middle, left nine, right eight"."""
    said = [item for item in w.row if w.sentence_start <= item.start < run[0].start and item.named("place")]
    fine = [k for k, item in enumerate(said) if all(label.axis in FINE for label in item.labels)]
    sides = [k for k, item in enumerate(said) if any(label.axis == "side" for label in item.labels)]
    here = any(label.axis in FINE for item in run for label in item.labels)
    if len(fine) != 1 or here or (sides and sides[0] < fine[0]):
        return {}
    spot, side = said[fine[0]], said[sides[0]] if sides else run[0]
    if not any(i.is_break or i.number is not None for i in w.row if spot.end <= i.start < side.start):
        return {}  # "inside of the left front tire is worn, right front ...": it is of that side alone
    return places_of([said[fine[0]]], w.frame.part(w.vocabulary))


def pair(w: Walk, run: list[Item]) -> tuple[Item, Item] | None:
    """Two faces or spots that are named together: "the inner and the outer"."""
    if len(run) == 4 and run[1].labels == run[3].labels:
        run = [run[0], run[2]] if AND.fullmatch(w.text, run[1].end, run[2].start) else run
        if len(run) == 2 and run[0].labels != run[1].labels:
            return run[0], run[1]  # "the left front and the right front"
    for one, other in pairwise(run):
        first, second = one.named("place"), other.named("place")
        assert first is not None
        assert second is not None
        apart = (
            first.axis == second.axis and first.axis in (*FINE, "side", "level") and first.name != second.name
        )
        if apart and AND.fullmatch(w.text, one.end, other.start):
            return one, other
    return None


def third(w: Walk, i: int) -> list[Item]:
    """The spot named before two others: "inside, middle and outside"."""
    before = w.row[max(i - 2, 0) : i]
    if len(before) < 2 or not before[1].is_break or before[1].strong:
        return []
    first, second = before[0].named("place"), w.row[i].named("place")
    alike = first is not None and second is not None and first.axis == second.axis and first.axis in FINE
    return [before[0]] if alike else []


def three(w: Walk, run: list[Item], j: int) -> list[Item]:
    """Three spots in a row behind what is said of all of them: "at all spots, inside, middle and outside"."""
    rest = w.row[j : j + 3]
    last = w.claims[-1] if w.claims else None
    said = last is not None and last.kind == "reading" and last.start >= w.sentence_start
    if not said or len(run) != 1 or len(rest) < 3 or not rest[0].is_break or rest[0].strong:
        return []
    three = [run[0], *rest[1:]]
    spots = [{label.name for label in item.labels if label.axis == "spot"} for item in three]
    apart = len(set.union(*spots)) >= len(three) and all(spots)
    joined = AND.fullmatch(w.text, rest[1].end, rest[2].start) is not None
    numbered = j + 3 < len(w.row) and w.row[j + 3].number is not None
    return three if apart and joined and not numbered else []


def with_next(w: Walk, run: list[Item], j: int) -> tuple[list[Item], int]:
    """Places together with others behind a comma that go with a part: "at the rear, the left lamp"."""
    if len(run) != 1 or j + 2 >= len(w.row) or not w.row[j].is_break or w.row[j].strong:
        return run, j
    k = j + 1
    while k < len(w.row) and w.row[k].named("place"):
        k += 1
    more = w.row[j + 1 : k]
    axes = {label.axis for item in more for label in item.labels}
    part = w.row[k].named("component") if k < len(w.row) else None
    apart = part is not None and not axes & {label.axis for label in run[0].labels}
    close = bool(more) and THE.fullmatch(w.text, w.row[j].end, more[0].start) is not None
    opens = not any(w.sentence_start <= item.start < run[0].start for item in w.row)
    return (run + more, k) if apart and close and opens else (run, j)
