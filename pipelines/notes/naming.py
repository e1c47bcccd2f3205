"""Parts: which one is meant, and what said before its name belongs to it."""

import re
from collections.abc import Sequence

from models.vocabulary import Component
from pipelines.notes import corrections, listing, mentions, repeats, weighing
from pipelines.notes.frame import Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.lexicon import Label
from pipelines.notes.together import AND, THE
from pipelines.notes.walk import Walk

_SAID_OF = re.compile(
    r"(?:\s+(?!(?:and|but|then|now|next|moving|back|so)\b)[^\W\d_]+(?:'[^\W\d_]+)?){0,6}?"
    r"\s+(?:on|at|in|for|of|into|onto|to|from|off|through|across|between|under|by|around|where|when|reach|reaches|reached)"
    r"(?:\s+(?:the|its|that|this|his|our))?\s*"
    r"|\s+(?:is|was|were|are)\s+(?:all|what|as much as)\s+"
    r"(?:that\s+|i\s+(?:got|get|have|found|find|read|see)\s+)?(?:(?:on|at|in|from|for)\s+)?(?:the|that|this)\s+",
    re.I,
)
_PIECE = re.compile(r"\b([^\W\d_]+)\s+(?:of|on|in)\s+(?:the\s+|that\s+|this\s+)?$", re.I)
_MOVES = re.compile(
    r"\b(?:lift|move|push|pry|pull|shake|rock|turn|spin|grab|twist|wiggle|roll)(?:s|ed|ing)?"
    r"\s+(?:on\s+|down\s+on\s+)?(?:the|that|this)\s+$",
    re.I,
)
# "On the same joint": the one at hand, with its place
_POINTED = re.compile(r"\b(?:the same|that same|this same|that|this)\s+$", re.I)
# "Four thou, that's your left front hub": what stands before is said of the part behind.
_THATS = re.compile(
    r"\s*(?:and\s+)?(?:that's|that is|that'd be|that would be|that was|that'll be|this is|it's|those are"
    r"|which is)\b[^.?!;]*$",
    re.I,
)


def component(w: Walk, i: int) -> None:
    """A part was named: what follows is about it."""
    item = w.row[i]
    label = item.named("component")
    assert label is not None
    label = _at_hand(w, item, label)
    frame, part = w.frame, w.vocabulary.components[label.name]
    if _only_mentioned(w, item, label):
        return
    places, run = {**_implied(w, item, part), **places_of(w.pending, part)}, w.pending
    w.pending = []
    _join(w, i)
    first, w.named_here = not w.named_here, True
    w.unknown = False
    pointed = _POINTED.search(w.text, w.sentence_start, item.start) is not None or _takes_back(w, item)
    again = frame.component == label.name and not places and (pointed or not first)
    if frame.correcting and corrections.tells_place(w, i, label.name):
        corrections.correct_place(w, run)
        return
    both, w.both_ahead = w.both_ahead, None
    if item.weight < 1:
        w.frame.named_as = w.text[item.start : item.end]
    frame.note_header(places)
    if _said_before(w, i, label.name, places, first=first, both=both):
        return
    if again or (frame.component == label.name and not frame.content and not places):
        if not w.measure_here:
            frame.measure = None
    else:
        if frame.content:
            frame.both = None
        # "Starter draws one ninety, battery dropped to ten": what was measured there is told.
        carried = w.measure_here and (frame.component == label.name or not frame.content)
        measure = frame.measure if carried else None
        frame.start(label.name, places, item.weight)
        frame.measure = measure if measure in part.measures else None
    _take_measure(w, item, part)
    if both:
        frame.both, w.both_named = repeats.both_of(w, both, part, places), True
    elif "side" in places:
        frame.both = None


def _said_before(w: Walk, i: int, component: str, places: Places, *, first: bool, both: str | None) -> bool:
    """Whether what was said before the name of a part is said of it: nothing new begins with it."""
    item = w.row[i]
    if mentions.shares_last(w, item, component, places):
        return True
    if mentions.moves_last_condition(w, item, component, places, first=first):
        if both:
            part = w.vocabulary.components[component]
            repeats.spread(w, repeats.both_of(w, both, part, places))  # "replace the upper and lower hoses"
        return True
    ends = _ends_here(w, i, sentence=True)
    return first and mentions.follows_conditions(w, item, component, places, ends=ends)


def _takes_back(w: Walk, item: Item) -> bool:
    """Whether the sentence takes something back before it names a part: "no, the bushing isn't worn"."""
    return any(
        other.cue("mistake") or other.cue("correction") or other.cue("alone")
        for other in w.row
        if w.sentence_start <= other.start < item.start
    )


def _only_mentioned(w: Walk, item: Item, label: Label) -> bool:
    """Whether nothing is said of a part that was named; its place may tell where the one at hand is."""
    if w.frame.correcting and w.frame.component != label.name and mentions.in_excuse(w, item):
        w.pending = []
        return True
    if mentions.only_locates(w, item):
        mentions.place_by(w)
        return True
    return w.vocabulary.components[label.name].fluid and mentions.escapes(w, item)


def _heads(part: Component, word: str) -> bool:
    """Whether a word is the last one of a longer name of the part."""
    return any(" " in name and name.split()[-1] == word for name in part.words)


def _implied(w: Walk, item: Item, part: Component) -> Places:
    """The places that the name itself says: tail lights are at the rear."""
    said = w.text[item.start : item.end].lower().removesuffix("'s")
    return dict(part.implies.get(said, part.implies.get(said.removesuffix("s"), {})))


def _word(w: Walk, item: Item) -> str:
    return w.text[item.start : item.end].lower().removesuffix("'s").removesuffix("s")


def _fits_places(w: Walk, part: Component) -> bool:
    return all(any(label.axis in part.axes for label in item.labels) for item in w.pending)


def _at_hand(w: Walk, item: Item, label: Label) -> Label:
    """The part at hand, when its name ends with what was said: a carrier bearing is "the bearing"."""
    part = w.frame.part(w.vocabulary)
    if whole := _piece_of(w, item):
        return Label("component", whole)
    if owner := _owner_of_measure(w, item, label, w.measures_ahead):
        return Label("component", owner)
    if (
        part is None
        or w.frame.component is None
        or not _heads(part, _word(w, item))
        or not _fits_places(w, part)
    ):
        return label
    return Label("component", w.frame.component)


def _piece_of(w: Walk, item: Item) -> str:
    """The part that is a piece of the one named: "the bushing of the right control arm"; else empty."""
    start = w.pending[0].start if w.pending else item.start
    piece = _PIECE.search(w.text, w.sentence_start, start)
    if piece is None:
        return ""
    said = w.text[item.start : item.end].lower().removesuffix("'s")
    names = {f"{said} {piece.group(1).lower().removesuffix('s')}"}
    parts = w.vocabulary.components.items()
    return next((name for name, part in parts if names & set(part.words)), "")


def meant(w: Walk, item: Item, measures: Sequence[str]) -> str:
    """The part that a name stands for when these measures were said before it."""
    label = item.named("component")
    assert label is not None
    return _owner_of_measure(w, item, label, measures) or label.name


def _owner_of_measure(w: Walk, item: Item, label: Label, measures: Sequence[str]) -> str:
    """The part with a longer name that has the measure just named: "free play at the wheel"; else empty."""
    named = [m for m in measures if m not in w.vocabulary.components[label.name].measures]
    word = _word(w, item)
    parts = w.vocabulary.components.items()
    owners = [
        n for n, p in parts if n != label.name and _heads(p, word) and any(m in p.measures for m in named)
    ]
    return owners[0] if len(owners) == 1 and _fits_places(w, w.vocabulary.components[owners[0]]) else ""


def stands_for(w: Walk, i: int) -> bool:
    """Whether item `i` is the last word of the name of the part at hand, or of one read before."""
    item = w.row[i]
    if not item.named("head"):
        return False
    word = _word(w, item)
    if is_moved(w, item):
        return False
    if partner := _partner(w, i, word):
        w.row[i] = item._replace(labels=(Label("component", partner),))
        return True
    part = w.frame.part(w.vocabulary)
    if w.named_here and part is not None and not _heads(part, word):
        return False  # "steering stabilizer, rod's bent": a piece of the part at hand
    names = [w.frame.component, *(claim.component for claim in reversed(w.frame.recent))]
    for name in names:
        part = w.vocabulary.components.get(name) if name else None
        if name and part is not None and _heads(part, word) and _fits_places(w, part):
            w.row[i] = item._replace(labels=(Label("component", name),))
            return True
    axes = {label.axis for place in w.pending for label in place.labels}
    owners = [n for n, p in w.vocabulary.components.items() if _heads(p, word) and axes & set(p.axes)]
    if len(owners) == 1 and axes and _fits_places(w, w.vocabulary.components[owners[0]]):
        w.row[i] = item._replace(labels=(Label("component", owners[0]),))
        return True
    return False


def _partner(w: Walk, i: int, word: str) -> str:
    """The part that a short name before a number stands for, once its partner was read; else empty."""
    behind = next((item for item in w.row[i + 1 : i + 3] if not item.is_break), None)
    if behind is None or behind.number is None:
        return ""
    read = {w.frame.component, *(claim.component for claim in w.frame.recent)}
    parts = w.vocabulary.components.items()
    return next((n for n, p in parts if word in p.short and (p.partner in read or n in read)), "")


def names_unknown(w: Walk, item: Item) -> bool:
    """Whether the last word of many names stands for a part that is not in the vocabulary."""
    return _word(w, item) in w.vocabulary.fillers["heads"] and not is_moved(w, item)


def is_moved(w: Walk, item: Item) -> bool:
    """Whether somebody moves a piece to see how the part at hand does: "I can lift the shaft"."""
    return w.frame.component is not None and _MOVES.search(w.text, w.sentence_start, item.start) is not None


def _take_measure(w: Walk, item: Item, part: Component) -> None:
    """The measure that the name itself says, or one named before it: "runout on the right front rotor"."""
    also = item.named("measure")
    named = ((also.name,) if also is not None else ()) + w.measures_ahead
    known = part if part.fluid else w.vocabulary.broadly(part)
    fitting = next((measure for measure in named if measure in known.measures), None)
    if fitting is not None:
        w.frame.measure = fitting
        w.measure_here = True
    w.measures_ahead = ()


def part_behind(w: Walk, i: int) -> int:
    """Where the part stands that the number of item `i` is said of: "sixteen pounds on the cooling system".

    Only where no part was named in the sentence yet, or the one named stood behind its number too; 0 when
    there is none.
    """
    if part := listing.part_of_pair(w, i) or (0 if w.named_here else listing.part_at_end(w, i)):
        return part
    j = _behind_values(w, i)
    if w.named_here and not w.value_first and not _of_another_part(w, i, j) and _can_be_of_part(w, i):
        return 0
    apart = j < len(w.row) and w.row[j].is_break
    first = j + apart
    j = _behind_names(w, first)
    if j >= len(w.row) or not w.row[j].named("component"):
        return 0
    strong = apart and w.row[first - 1].strong
    if _THATS.match(w.text, w.row[first - 1].end, w.row[j].start):
        return j if not strong or opens_sentence(w, i) else 0
    if strong:
        return 0
    gap = (w.row[first - 1].end, w.row[first].start)
    if any(item.named("measure") for item in w.row[first:j]):
        named = THE.fullmatch(w.text, *gap) or _SAID_OF.fullmatch(w.text, *gap)
        return j if named and _closes(w, i, j) else 0
    if w.text[w.row[j].start : w.row[j].end].lower().startswith("on the "):
        return j  # "two fifteen on the high"
    if THE.fullmatch(w.text, *gap):
        return j if _ends_here(w, j, sentence=apart) or (apart and _closes(w, i, j)) else 0
    return (_same_part_behind(w, j) or j) if not apart and _SAID_OF.fullmatch(w.text, *gap) else 0


def _can_be_of_part(w: Walk, i: int) -> bool:
    """Whether the number of item `i` can be of the part at hand: no caliper has eight millimeters."""
    part, span = w.frame.part(w.vocabulary), w.row[i].number
    return part is None or span is None or weighing.can_be(span, part)


def _of_another_part(w: Walk, i: int, j: int) -> bool:
    """Whether the measure before item `j` is not of the part at hand but of the one right behind it.

    "With the wheels straight ahead I get two inches of free play at the steering wheel."
    """
    measure = w.row[j - 1].named("measure") if j - 1 > i and j < len(w.row) else None
    behind, part = w.row[j].named("component") if measure else None, w.frame.part(w.vocabulary)
    if measure is None or behind is None or part is None:
        return False
    owner = w.vocabulary.components[behind.name]
    return measure.name in owner.measures and measure.name not in part.measures


def _behind_names(w: Walk, j: int) -> int:
    """Index behind places and measures from item `j` on: "end play again, right front"."""
    start = j
    while j < len(w.row):
        item = w.row[j]
        comma = item.is_break and not item.strong and j > start and w.row[j - 1].named("measure") is not None
        if not (item.named("place") or item.named("measure") or _is_thats(w, item) or comma):
            break
        j += 1
    return j


def _closes(w: Walk, i: int, part: int) -> bool:
    """Whether a sentence opens with number `i` and names no other number or part behind the one found."""
    for item in w.row[part + 1 :]:
        if item.is_break and item.strong:
            break
        if item.number is not None or item.named("component"):
            return False
    return opens_sentence(w, i)


def _is_thats(w: Walk, item: Item) -> bool:
    return item.cue("ending") and w.text[item.start : item.end].lower() == "that's all"


def opens_sentence(w: Walk, i: int) -> bool:
    """Whether nothing is named before item `i` in its sentence."""
    return all(item.start < w.sentence_start or item.named("cue") for item in w.row[:i])


def _behind_values(w: Walk, i: int) -> int:
    """Index behind the number of item `i`, its measure, and further numbers that "and" joins to it."""
    j = i + 1
    joined = j < len(w.row) and AND.fullmatch(w.text, w.row[i].end, w.row[j].start) is not None
    if joined and w.row[j].named("measure") and j + 1 < len(w.row) and w.row[j + 1].number is not None:
        return _behind_values(w, j + 1)  # "1.418 and runout seven thousandths"
    if j < len(w.row) and w.row[j].named("measure"):
        j += 1
    if (
        j < len(w.row)
        and w.row[j].number is not None
        and AND.fullmatch(w.text, w.row[j - 1].end, w.row[j].start)
    ):
        return _behind_values(w, j)
    return j


def _ends_here(w: Walk, i: int, *, sentence: bool) -> bool:
    """Whether nothing but places is said behind item `i` up to the next break, or to the sentence's end."""
    for item in w.row[i + 1 :]:
        if item.is_break and (item.strong or not sentence):
            return True
        if not (item.is_break or item.named("place") or item.named("measure") or item.cue("both")):
            return False
    return True


def _same_part_behind(w: Walk, i: int) -> int:
    """Where the part is named once more with its place: "lining on the left rear shoes"; else 0."""
    j = i + 1
    comma = j < len(w.row) and w.row[j].is_break and not w.row[j].strong
    j += comma
    first = j
    while j < len(w.row) and w.row[j].named("place"):
        j += 1
    again = w.row[j].named("component") if j < len(w.row) else None
    alike = again is not None and again == w.row[i].named("component")
    if not alike:
        return 0
    return j if (comma and j > first) or _SAID_OF.fullmatch(w.text, w.row[i].end, w.row[i + 1].start) else 0


def _join(w: Walk, i: int) -> None:
    """For example "drag link and pitman arm, no play": what follows holds for both."""
    frame, part = w.frame, w.frame.part(w.vocabulary)
    before = [item for item in w.row[:i] if not item.named("place")]
    last = before[-1] if before else None
    w.also = None
    if last is None or part is None or frame.component is None or not last.named("component"):
        return
    gap = w.text[last.end : w.row[i].start].lower().split()
    if "and" in gap and not frame.content:
        w.also = (frame.component, frame.position(part))
