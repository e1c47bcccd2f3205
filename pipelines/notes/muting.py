"""What counts for nothing: asides, complaints, talk about limits."""

import re

from pipelines.notes import corrections
from pipelines.notes.frame import COARSE
from pipelines.notes.heading import closes
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

# "Somebody left a broken lamp" tells of the truck; "somebody get the light" does not.
_TELLS = re.compile(
    r"\s+(?:left|has|had|put|broke|bent|cut|hit|tore|ran|took|made|gave|drove|wore|bought|did|got|kept|threw|\w{2,}ed)\b",
    re.I,
)
# The words that lead to a corner and nothing else: "I'm over at the", "let me do the", and those behind it.
_LEADS = re.compile(
    r"\s+(?:(?:start|begin|go|gonna|mov|work|com|head|switch|walk|cross|jump|do|look|check|get|tak|finish|inspect|mak|see)"
    r"\w*\s+|(?:at|over|on|onto|to|around|round|now|next|up|back|in|under|down|with|by|here|just|first|the|that|this|my"
    r"|way|from|out|off|of|then|and|be|hit|still|onto)\s+)*",
    re.I,
)
_CLOSES = re.compile(r"(?:\s+(?:now|first|next|then|side|corner|end|again|here|too|already|today))*\s*", re.I)
_AND_THE = re.compile(r"\s*(?:and|but)\s+(?:the\s+|this\s+|that\s+)?", re.I)
_NAME = re.compile(r"\s*([A-Z][a-z]+),\s")


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
    if item.cue("ending") and closes(w.text, w.row, i):
        return "sentence"
    aside = item.cue("aside") or (item.cue("pause") and not corrections.stands_alone(w, i))
    if aside and starts_segment(w, i) and not _asks(w, i) and not _what_is_left(w, i):
        return "segment" if w.named_here else "sentence"
    corrects = any(other.cue("correction") or other.cue("mistake") for other in w.row[i + 1 : i + 3])
    if item.cue("talk") and starts_segment(w, i) and not (corrects or _reports(w, i) or _goes_to(w, i)):
        return "sentence"
    if item.cue("complaint") or item.cue("date_code"):
        return "segment"
    meant = w.frame.correcting and w.text[item.start : item.end].lower() == "should be"
    if item.cue("limit_talk") and not item.named("measure") and not meant:
        _over_comma(w, i)
        return "segment"
    return ""


def calls_somebody(w: Walk) -> bool:
    """Whether the sentence calls somebody by name and names no part: "Renee, keep her at fifteen hundred"."""
    name = _NAME.match(w.text, w.sentence_start)
    if name is None or name.group(1).lower() in w.known:
        return False
    if any(item.start < name.end(1) and item.end > name.start(1) and not item.is_break for item in w.row):
        return False
    rest = [item for item in w.row if item.start >= name.end()]
    end = next((k for k, item in enumerate(rest) if item.is_break and item.strong), len(rest))
    return not any(item.named("component") or _measured(item) for item in rest[:end])


def _measured(item: Item) -> bool:
    if item.number is None:
        return False
    return any(r.unit or r.denominator or r.kind in ("degrees", "pounds") for r in item.number.readings)


def _what_is_left(w: Walk, i: int) -> bool:
    """Whether "what's" asks nothing: "what's left on the shoe is three eighths"."""
    return re.match(r"what(?:'s| is)\s+left\b", w.text[w.row[i].start :], re.I) is not None


def _asks(w: Walk, i: int) -> bool:
    """Whether it is said of a part after all: "somebody clean those", "somebody broke this lamp"."""
    said = w.text[w.row[i].start : w.row[i].end].lower()
    if said in ("somebody", "some body") and _TELLS.match(w.text, w.row[i].end) and _reports(w, i):
        return True
    acts = i + 1 < len(w.row) and w.row[i + 1].named("action") is not None
    return acts and (said == "don't" or ("some" in said and w.named_here))


def _over_comma(w: Walk, i: int) -> None:
    """For example "Sticker, eight hundred": the comma right behind the cue parts nothing."""
    comma, number = w.row[i + 1 : i + 2], w.row[i + 2 : i + 3]
    if not comma or not number or number[0].number is None or not comma[0].is_break or comma[0].strong:
        return
    if not w.text[comma[0].end : number[0].start].strip() and starts_segment(w, i):
        w.taken.add(i + 1)


def _reports(w: Walk, i: int) -> bool:
    """Whether the rest of the sentence names a part or says a number with its unit: "I'm getting 30 psi"."""
    for item in w.row[i + 1 :]:
        if item.is_break and item.strong:
            return False
        measured = _measured(item)
        said = any(item.named(kind) for kind in ("component", "area", "action", "condition"))
        if measured or said:
            return True
    return False


def ends_before(w: Walk, i: int) -> bool:
    """Whether talk of a limit ends here: "minimum is three and the left front inner is at four"."""
    last = w.row[i - 1] if i else None
    item = w.row[i]
    if (
        w.muted != "segment"
        or last is None
        or last.number is None
        or not (item.named("place") or item.named("component"))
    ):
        return False
    if _AND_THE.fullmatch(w.text, last.end, item.start) is None:
        return False
    w.muted = ""
    return True


def _goes_to(w: Walk, i: int) -> bool:
    """Whether the sentence only tells where the talk goes on: "I'm at the left front now"."""
    end = next((k for k in range(i, len(w.row)) if w.row[k].is_break and w.row[k].strong), len(w.row))
    run = [k for k in range(i + 1, end) if w.row[k].named("place")]
    coarse = any(label.axis in COARSE for k in run for label in w.row[k].labels)
    if not coarse or run != list(range(run[0], run[0] + len(run))):
        return False
    stop = w.row[end].start if end < len(w.row) else len(w.text)
    leads = _LEADS.fullmatch(w.text, w.row[i].end, w.row[run[0]].start)
    return leads is not None and _CLOSES.fullmatch(w.text, w.row[run[-1]].end, stop) is not None


def starts_segment(w: Walk, i: int) -> bool:
    """Whether at most two words stand between the item and the break before it."""
    start = w.row[i - 1].end if i else 0
    return (i == 0 or w.row[i - 1].is_break) and len(w.text[start : w.row[i].start].split()) <= 2
