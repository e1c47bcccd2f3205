"""A part that was named: whether it is talked about, or only belongs to what was said just before."""

import re
from dataclasses import replace

from models.vocabulary import Component
from pipelines.notes.claims import Claim
from pipelines.notes.doubts import place_doubts
from pipelines.notes.frame import PLAYS, Places, places_of
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

_TOWARDS = re.compile(r"\b(?:at|from|on|around|by|in|off|of|behind)\s+(?:the|that|this|its|a)?\s*$", re.I)
_WHOSE = "“{}” was said between two parts: taken as said of the second."
_PLACE_WORDS = re.compile(r"\b(?:left|right|front|rear|upper|lower|inner|outer)\b", re.I)
_LOCATES = re.compile(
    r"\b(?:at|on|in|of|by|under|behind|above|near)\s+(?:the|that|this|its|both|each|all)?\s*(?:same\s*)?$",
    re.I,
)
_NEXT_TO = re.compile(
    r"\b(?:by|with|till|until|near|next to|behind|above|under|below|beside|ahead of|past|around|down|over"
    r"|along|against)"
    r"\s+(?:the|that|this|its)?\s*$",
    re.I,
)
_ALONG = re.compile(r"\b(?:down|along|onto|over|against|inside|behind|through)\b", re.I)
_EXCUSE = re.compile(
    r"\b(?:i|we|he|she|somebody|that|it) (?:was|were|had)\b[^.;?!]*\b(?:on|with|against|in|off|at)\b", re.I
)
_WITH = re.compile(r"\s+(?:(?:with|in|by|some|a|little|bit|of|gear|brake|the)\s+)*", re.I)
_RUNS_OUT = re.compile(
    r"\s+(?:ran|dripped|drips|(?:came|comes|coming|runs|running)\s+(?:right\s+)?(?:out|down))\b", re.I
)
_APPOSED = re.compile(
    r"(?:\s+[^\W\d_]+){0,5}\s*(?:,(?:[^,.;?!]{0,30},)?|\s(?:is|are|was)(?:\s+(?:how|what)\s+[^,.;?!]{0,24}?)?)\s*"
    r"(?:(?:that's|that is|it's)\s+)?(?:(?:on|at|in)\s+)?(?:(?:a|one|two)\s+[^\W\d_]+\s+of\s+)?"
    r"(?:the|that|this|a|an|one|two|both)?\s*",
    re.I,
)
# "A seep, only a small one, on the transfer case"
_ASIDE = re.compile(r",[^,.;?!]{0,30},")
# "Somebody broke the right rear lamp"
_WHO = re.compile(
    r"\b(?:some\s?body|someone|they|he|she|who)\s+(?:has\s+|had\s+|must have\s+|just\s+)?$", re.I
)
_JOINED = re.compile(r"\s*(?:and|or|nor)\s+(?:the\s+)?\s*", re.I)
_ARTICLE = re.compile(r"\b(?:a|an|one|some)\s+$", re.I)
_OBJECT = re.compile(r"\s*(?:(?:the|that|this|its|both|and|a|an|out|of)\s+)*\s*", re.I)


def moves_last_condition(w: Walk, item: Item, component: str, places: Places, *, first: bool) -> bool:
    """For example "leak at the water pump", "replace the hose": what was said before belongs to this part."""
    last = w.claims[-1] if w.claims else None
    if last is None or not last.name or last.kind not in ("condition", "action", "orphan"):
        return False
    action = last.name in w.vocabulary.actions
    if not action and last.component and not first and _ALONG.search(w.text, last.end, item.start):
        return True  # "hub seal, leaking down the inside of the wheel"
    between = _PLACE_WORDS.sub("", w.text[last.end : item.start]).rstrip() + " "
    if action:
        near = _opens_segment(w, last) and _OBJECT.fullmatch(between) is not None
    else:
        if not any(
            i.labels or i.number for i in w.row if last.end <= i.start < item.start and not i.named("place")
        ):
            between = _ASIDE.sub(" ", between)
        near = _TOWARDS.search(between) is not None and not re.search(r"[.?!,;]", between)
        if near and not first and _same_clause(w, last, item.start):
            _place_said(w, places)
            return True  # "hitch is loose on the frame", "a lug nut is missing on the left rear wheel"
        adjective = _opens_segment(w, last) or _ARTICLE.search(w.text, 0, last.start) is not None
        near = near or (not between.strip() and adjective)  # "sloppy idler arm", "has a broken U-bolt"
        near = near or (
            _WHO.search(w.text, w.sentence_start, last.start) is not None
            and _OBJECT.fullmatch(between) is not None
        )
    if not near:
        return False
    if component == w.frame.component == last.component and not places:
        return True  # "that gets a new seal": it is said of the part at hand already
    _move_last(w, 1, item, component, places)
    return True


def shares_last(w: Walk, item: Item, component: str, places: Places) -> bool:
    """For example "replace the left pads and rotor", "no leaks at the pump or the radiator": said of both."""
    last = w.claims[-1] if w.claims else None
    k = w.row.index(item)
    before = next((other for other in reversed(w.row[:k]) if not other.named("place")), None)
    if last is None or before is None or before.named("component") is None or last.component == component:
        return False
    told_before = last.kind in ("condition", "action") and w.sentence_start <= last.end <= before.start
    between = _PLACE_WORDS.sub("", w.text[before.end : item.start])
    rest = w.row[k + 1 : k + 2]
    if not told_before or not _JOINED.fullmatch(between) or not (not rest or rest[0].is_break):
        return False
    w.frame.start(component, places, item.weight)
    position = w.frame.position(w.vocabulary.components[component])
    w.claims.append(replace(last, component=component, position=position, group=w.frame.group))
    w.frame.content = True
    return True


def _place_said(w: Walk, places: Places) -> None:
    """Give places to what the sentence says of the part at hand, where it has none of its own."""
    part = w.frame.part(w.vocabulary)
    fitting = {a: v for a, v in places.items() if part and a in part.axes and a not in w.frame.fresh}
    if not fitting:
        return
    for k, claim in enumerate(w.claims):
        if claim.start >= w.sentence_start and claim.component == w.frame.component:
            doubts = tuple(d for d in claim.doubts if not d.startswith("Nobody said which"))
            w.claims[k] = replace(claim, position=claim.position.with_keys(**fitting), doubts=doubts)
    w.frame.places.update(fitting)
    w.frame.fresh |= set(fitting)


def _same_clause(w: Walk, claim: Claim, until: int) -> bool:
    """Whether the part that a claim is of was named in the same clause, before it or right behind it."""
    behind = [i.named("component") for i in w.row if claim.end <= i.start < until]
    if any(label is not None and label.name == claim.component for label in behind):
        return True
    for item in reversed([i for i in w.row if i.end <= claim.start]):
        label = item.named("component")
        if item.is_break or label is not None:
            return label is not None and label.name == claim.component
    return False


def follows_conditions(w: Walk, item: Item, component: str, places: Places, *, ends: bool) -> bool:
    """For example "rusty but not leaking, left rear brake line": all that the sentence says is of this part.

    When the sentence does not end with the part (`ends`), it is a question: it may be the part before.
    """
    said = [c for c in w.claims if c.start >= w.sentence_start]
    if len(said) == 2 and said[0].kind == "reading" and said[0].start == said[1].start:
        said = said[1:]  # "no play at all, that's the front U-joint": the zero goes with its words
    if not said or any(c.kind not in ("condition", "action", "orphan") or not c.name for c in said):
        return False
    between = _PLACE_WORDS.sub("", w.text[said[-1].end : item.start])
    if _APPOSED.fullmatch(between) is None:
        return False
    apart = not w.sentence_start or any(i.start == i.end == w.sentence_start for i in w.row)  # a pause
    doubts = (
        ()
        if ends or apart or not said[-1].component
        else (_WHOSE.format(w.text[said[0].start : said[0].end]),)
    )
    _move_last(w, len(said), item, component, places, doubts)
    return True


def _move_last(
    w: Walk, count: int, item: Item, component: str, places: Places, doubts: tuple[str, ...] = ()
) -> None:
    """Say the last `count` claims of another part, which is the one at hand from now on."""
    w.frame.start(component, places, item.weight)
    part = w.vocabulary.components[component]
    for k in range(len(w.claims) - count, len(w.claims)):
        claim = w.claims[k]
        w.claims[k] = replace(
            claim,
            kind="action" if claim.name in w.vocabulary.actions else "condition",
            component=component,
            position=w.frame.position(part),
            group=w.frame.group,
            doubts=claim.doubts + doubts,
        )
    w.frame.content = True
    last = w.claims[-1]
    zero = w.claims[-2] if len(w.claims) > 1 else None
    if zero is not None and (zero.kind, zero.start, zero.end) == ("reading", last.start, last.end):
        _move_no_play(w, zero, part)


def _move_no_play(w: Walk, zero: Claim, part: Component) -> None:
    """The reading that "no play" is goes with the words."""
    said = w.claims.pop()
    w.claims.pop()
    plays = [measure for measure in part.measures if measure in PLAYS]
    if plays:
        measure = zero.measure if zero.measure in plays else plays[0]
        w.claims.append(
            replace(
                zero,
                component=said.component,
                position=said.position,
                group=said.group,
                measure=measure,
                doubts=place_doubts(w),
            )
        )
    w.claims.append(said)


def _opens_segment(w: Walk, claim: Claim) -> bool:
    """Whether nothing was named between the last break and a claim: "we should replace the ..."."""
    said = [item for item in w.row if item.end <= claim.start]
    before = [item for item in said if not any(item.cue(name) for name in ("aside", "talk", "idiom"))]
    return not before or before[-1].is_break


def only_locates(w: Walk, item: Item) -> bool:
    """Whether a part only says where the part at hand is: "U-joint at the rear of the driveshaft"."""
    frame = w.frame
    if not w.named_here or frame.component is None or frame.name_weight < 1:
        return False
    before = [i for i in w.row if i.end <= item.start]
    start = next((i.end for i in reversed(before) if not i.cue("bound")), 0)
    gap = _PLACE_WORDS.sub("", w.text[start : item.start])
    if _NEXT_TO.search(gap.rstrip() + " "):
        return True
    if frame.content:
        return False
    named = next((k for k in range(len(before) - 1, -1, -1) if before[k].named("component")), None)
    if named is None or any(not (i.named("place") or i.cue("both")) for i in before[named + 1 :]):
        return False
    between = w.text[before[named].end : item.start]
    return _LOCATES.search(_PLACE_WORDS.sub("", between).rstrip() + " ") is not None


def in_excuse(w: Walk, item: Item) -> bool:
    """Whether a part is named only to tell what went wrong: "scratch that, I was leaning on the tire"."""
    start = max((i.end for i in w.row if i.is_break and i.strong and i.end <= item.start), default=0)
    return _EXCUSE.search(w.text, start, item.start) is not None


def escapes(w: Walk, fluid: Item) -> bool:
    """Whether a fluid only says what a part leaks or is covered with: "soaked with gear oil"."""
    behind = next((item for item in w.row if item.start >= fluid.end), None)
    mark = behind.named("condition") if behind is not None else None
    runs = mark is not None and mark.name in ("leak", "seep")
    if w.named_here and runs and behind is not None and w.text[fluid.end : behind.start].isspace():
        return True  # "left shock, oil running down it"
    if _RUNS_OUT.match(w.text, fluid.end):
        return True  # "I wiped it off and oil ran right out again"
    before = [item for item in w.row if item.end <= fluid.start and not item.named("head")]
    return (
        bool(before)
        and before[-1].named("condition") is not None
        and w.frame.component is not None
        and _WITH.fullmatch(w.text, before[-1].end, fluid.start) is not None
    )


def place_by(w: Walk) -> None:
    """The places said with a part that only locates belong to the part at hand."""
    part = w.frame.part(w.vocabulary)
    assert part is not None
    places = {a: v for a, v in places_of(w.pending, part).items() if a in part.axes}
    w.frame.note_header(places)
    w.frame.places.update(places)
    w.frame.fresh |= set(places)
    w.pending = []
    if w.both_ahead:
        w.frame.both, w.both_ahead, w.both_named = w.both_ahead, None, True
