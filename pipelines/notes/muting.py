"""What counts for nothing: asides, complaints, talk about limits."""

from pipelines.notes.items import Item
from pipelines.notes.walk import Walk


def part_follows(w: Walk, comma: Item) -> bool:
    """Whether the segment behind a comma names a part: an aside does not go on there."""
    for item in w.row[w.row.index(comma) + 1 :]:
        if item.is_break:
            return False
        if item.named("component"):
            return True
    return False


def mutes(w: Walk, i: int) -> str:
    """How far nothing counts from here: an aside to its sentence's end, talk about a limit to a comma."""
    item = w.row[i]
    if item.cue("ending"):
        return "sentence"
    if item.cue("aside") and starts_segment(w, i):
        return "segment" if w.named_here else "sentence"
    if item.cue("talk") and starts_segment(w, i) and not _reports(w, i):
        return "sentence"
    if item.cue("complaint") or item.cue("date_code"):
        return "segment"
    if item.cue("limit_talk") and not item.named("measure"):
        return "segment"
    return ""


def _reports(w: Walk, i: int) -> bool:
    """Whether the rest of the sentence names a part or says a number with its unit: "I'm getting 30 psi"."""
    for item in w.row[i + 1 :]:
        if item.is_break and item.strong:
            return False
        measured = item.number is not None and any(r.unit or r.denominator for r in item.number.readings)
        said = any(item.named(kind) for kind in ("component", "area", "action", "condition"))
        if measured or said:
            return True
    return False


def starts_segment(w: Walk, i: int) -> bool:
    """Whether at most two words stand between the item and the break before it."""
    start = w.row[i - 1].end if i else 0
    return (i == 0 or w.row[i - 1].is_break) and len(w.text[start : w.row[i].start].split()) <= 2
