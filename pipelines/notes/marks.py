"""Conditions and actions said about the part at hand."""

import re
from dataclasses import replace
from decimal import Decimal

from models.places import Position
from pipelines.notes import context, corrections, denials, quantities, repeats
from pipelines.notes.claims import Claim
from pipelines.notes.doubts import place_doubts
from pipelines.notes.frame import OPPOSITE, PLAYS
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk

_NO_PLAY = re.compile(r"\b(?:no|zero|without)\b.*\b(?:play|movement|slop)\b", re.I)
_TALKS_ON = re.compile(r"\s*(?:it's|that's|it is|that is|so|now|i|i've|we|we've|let)\b", re.I)
_INCH = "[in_i]"
_NOT_DONE = re.compile(
    r"\b(?:shouldn't say|should not say|don't|do not|didn't|no need to|needn't|not going to|won't|wouldn't"
    r"|rather than|instead of"
    r"|was gonna|was going to|all set to|were going to)"
    r"(?!\s+(?:hurt|mind|wait|forget|be\s+a\s+bad))(?:\s+[^\W\d_]+){0,4}\s*$",
    re.I,
)
# "No leaks at the water pump": what is in order is said before its part.
_BEFORE = re.compile(
    r"\b(?:last (?:week|month|year|time|spring|summer|fall|winter)|yesterday|(?:weeks|months|years) ago)\b",
    re.I,
)
_OF_SOMETHING = re.compile(r"\s+(?:on|in|at|of)\s+(?:the|that|this)\b", re.I)
_NO_OF = re.compile(r"(?:no|not|nothing|never|don't|didn't)\s+", re.I)
_ALL_OF_THEM = re.compile(r"\b(?:them|those|these|both|the pair|the set|all four|the lot|the two)\b")
_BOTH_THINGS = re.compile(
    r"\b(?:both(?!\s+sides)|the pair|two of (?:them|those|these)"
    r"|(?:the|those|these) two(?=\s*(?:$|[.,;]|(?:need|get|are|have|want)s?\b)))\b"
)
# What may stand before a part that is asked for: "so there's a new seal to put on the list".
# "Change the right to seventy four" corrects a value.
_CHANGES = re.compile(
    r"change\s+(?:it|(?:the|that|this)(?:\s+[^\W\d_]+){0,3}?)\s+to\s+"
    r"(?:\d|(?:an?|minus|point|zero|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve)\b"
    r"|[a-z]+(?:teen|ty)\b)",
    re.I,
)
_ENDS = re.compile(r"\s*(?:[.?!;]|$)")
_NEW = re.compile(
    r"\s*(?:(?:it|she|that|this|that one)\s+(?:needs|wants|gets)\s+(?:a|an)\s+|(?:needs|wants)\s+(?:a|an)\s+"
    r"|(?:(?:so|and|then)\s+)*(?:there's\s+|that's\s+|it's\s+|(?:i\s+|i'd\s+)?recommend\s+)?(?:a\s+)?(?:brand\s+)?new\s+)",
    re.I,
)


def condition(w: Walk, i: int) -> None:
    """State a condition; "no play" is also a reading of zero."""
    item = w.row[i]
    text = w.text[item.start : item.end]
    last = w.frame.last
    after = w.row[i + 1] if i + 1 < len(w.row) else None
    if text.lower().endswith("gone") and after is not None and after.named("condition"):
        return  # "it's gone soft"
    if text.lower() in ("okay", "ok") and _goes_on_talking(w, i):
        return
    if text.lower() == "slack" and _OF_SOMETHING.match(w.text, item.end):
        return  # "slack on the left front hub is three thou"
    none = text.lower().endswith(" none") and last is not None
    of_play = none and last is not None and last.component == w.frame.component and last.measure in PLAYS
    if _NO_PLAY.search(text) or of_play:
        no_play(w, item)
    statement(w, i, "condition")


def _goes_on_talking(w: Walk, i: int) -> bool:
    """Whether "okay" only opens what is said next: "let me see, okay, it's twelve"."""
    before, after = w.row[i - 1] if i else None, w.row[i + 1] if i + 1 < len(w.row) else None
    apart = (before is None or before.is_break) and after is not None and after.is_break and not after.strong
    return apart and after is not None and _TALKS_ON.match(w.text, after.end) is not None


def no_play(w: Walk, item: Item) -> None:
    """State that there is no play: zero of the measure of play that was named, else of the usual one."""
    part = w.frame.part(w.vocabulary)
    plays = [m for m in part.measures if m in PLAYS] if part else []
    if part is None or w.frame.component is None or not plays:
        return
    said = w.text[item.start : item.end].lower().partition(" ")[2]
    named = [name for name in plays if name != "play" and said in w.vocabulary.measures.get(name, ())]
    measure = next(iter(named), w.frame.measure if w.frame.measure in plays else plays[0])
    quantities.state(
        w,
        Claim(
            kind="reading",
            component=w.frame.component,
            position=w.frame.position(part),
            group=w.frame.group,
            start=item.start,
            end=item.end,
            measure=measure,
            value=Decimal(0),
            unit=_INCH,
            doubts=place_doubts(w),
            weight=w.frame.name_weight,
        ),
    )


def complete_no_play(w: Walk) -> None:
    """The reading that "no play" is, where its part was named behind it: "no play in the ball joint"."""
    last = w.claims[-1] if w.claims else None
    if last is None or (last.kind, last.name) != ("condition", "ok"):
        return
    before = w.claims[-2] if len(w.claims) > 1 else None
    has_zero = before is not None and (before.kind, before.start) == ("reading", last.start)
    if not has_zero and _NO_PLAY.search(w.text, last.start, last.end):
        w.claims.pop()
        no_play(w, next(item for item in w.row if item.start == last.start))
        w.claims.append(last)


def statement(w: Walk, i: int, kind: str) -> None:
    """State a condition or an action (`kind`) about the part at hand."""
    item, frame = w.row[i], w.frame
    part = frame.part(w.vocabulary)
    label = item.named(kind)
    assert label is not None
    if context.somebody_does(w.text, item, done=kind == "action") or _of_a_tool(w, item):
        return
    if kind == "action" and _past(w, item):
        return
    if kind == "action" and _CHANGES.match(w.text, item.start):
        corrections.correction(w, i)
        return
    if kind == "action" and label.name == "keep" and _keeps_else(w, item):
        return
    if kind == "action" and (_unknown_to(w, label.name) or _denied(w, i, label.name)):
        return
    denied = denials.denied(w, i) if kind == "condition" else ""
    if part is None or frame.component is None:
        of_what = label.name == "ok" and _NO_OF.match(w.text, item.start) and _part_comes(w, i)
        if kind == "action" or label.name != "ok" or of_what or _NO_PLAY.search(w.text, item.start, item.end):
            w.claims.append(
                Claim(
                    "orphan",
                    "",
                    Position(),
                    frame.group,
                    item.start,
                    item.end,
                    name="ok" if denied else label.name,
                )
            )
        return
    subject = (
        "" if w.named_here else context.unknown_subject(w.text, w.sentence_start, item.start, w.row, w.known)
    )
    if subject or w.unknown:
        w.claims.append(Claim("orphan", "", Position(), frame.group, item.start, item.end, name=label.name))
        return
    name = label.name
    if denied:
        here = (other for other in w.row[:i] if other.start >= w.sentence_start)
        said_no = i > 1 and w.row[i - 1].is_break and corrections.says_no(w, i - 2)
        placed = any(other.named("place") for other in here)
        if w.named_here or said_no or placed or denials.of_what_was_told(w, i, denied):
            denials.take_back(w, denied, frame.position(part))
        name = "ok"
    base = Claim(
        kind="condition" if kind == "condition" else "action",
        component=frame.component,
        position=frame.position(part),
        group=frame.group,
        start=item.start,
        end=item.end,
        name=name,
        doubts=_doubts(w, i),
        weight=item.weight * frame.name_weight,
    )
    others = _said_together(w, i) if kind == "action" else []
    w.claims += [replace(base, component=c.component, position=c.position, group=c.group) for c in others]
    w.claims.append(base)
    quantities.say_of_other(w, base)
    frame.content = True
    if frame.both:
        repeats.spread(w, frame.both)


def _past(w: Walk, item: Item) -> bool:
    """Whether something was done at another time: "replaced the left front shock last month"."""
    end = next((i.start for i in w.row if i.is_break and i.strong and i.start >= item.end), len(w.text))
    done = re.match(r"\w{3,}(?<!ne)ed\b", w.text[item.start : item.end], re.I) is not None
    return done and _BEFORE.search(w.text, w.sentence_start, end) is not None


def _part_comes(w: Walk, i: int) -> bool:
    """Whether a part is named behind item `i` in the same sentence."""
    end = next((k for k in range(i, len(w.row)) if w.row[k].is_break and w.row[k].strong), len(w.row))
    return any(item.named("component") for item in w.row[i:end])


def _keeps_else(w: Walk, item: Item) -> bool:
    """Whether somebody is to keep something that is no part: "keep that blade up"."""
    thing = re.compile(r"\s+(?:that|the|this|your|my)\s+([^\W\d_]+)", re.I).match(w.text, item.end)
    if thing is None or thing.group(1).lower() in w.known:
        return False
    return not any(other.start <= thing.start(1) < other.end for other in w.row)


def _unknown_to(w: Walk, action: str) -> bool:
    """Whether the part at hand does not know an action: a steering wheel that is turned."""
    parts = w.vocabulary.action_parts.get(action)
    return parts is not None and w.frame.component is not None and w.frame.component not in parts


def _denied(w: Walk, i: int, action: str) -> bool:
    """Whether an action is said not to be needed: "no, don't replace it"; one said before is taken back."""
    if _NOT_DONE.search(w.text, w.sentence_start, w.row[i].start) is None:
        return False
    for k in range(len(w.claims) - 1, -1, -1):
        claim = w.claims[k]
        if claim.component != w.frame.component:
            break
        if claim.kind == "action" and claim.name == action:
            del w.claims[k]
            return True
    for claim in w.frame.told:
        if (claim.kind, claim.name, claim.component) == ("action", action, w.frame.component):
            corrections.drop_earlier(w, claim)
    return True


def _said_together(w: Walk, i: int) -> list[Claim]:
    """What was said of other parts or places, when the action is for all of them."""
    words = (
        w.text[w.row[i].start : w.row[i].end + 12].lower() + w.text[w.sentence_start : w.row[i].start].lower()
    )
    last = w.claims[-1] if w.claims else None
    if last is None:
        apart = _BOTH_THINGS.search(words) is not None and len({c.component for c in w.frame.pair}) == 2
        return [claim for claim in w.frame.pair if apart and claim.component != w.frame.component]
    alone = not w.text[w.sentence_start : w.row[i].start].strip() and _ENDS.match(w.text, w.row[i].end)
    if last.component != w.frame.component:
        return []
    if not alone and _ALL_OF_THEM.search(words) is None:
        return []
    near = w.text[_segment(w, i) : w.row[i].end + 20].lower()
    two = repeats.two_told(w) if _BOTH_THINGS.search(near) else ()
    if two and two[0].component != two[1].component:
        return [claim for claim in two if claim.component != last.component]
    if w.frame.both:
        return []
    part = w.frame.part(w.vocabulary)
    here = w.frame.position(part) if part is not None else None
    alike = [c for c in w.claims if (c.start, c.end, c.component) == (last.start, last.end, last.component)]
    elsewhere = {claim.position: claim for claim in alike if claim.position != here}
    if not elsewhere and here is not None and here.side and "pair" in near:
        opposite = here.with_keys(side=OPPOSITE.get(here.side))
        elsewhere = {
            c.position: c for c in w.claims if (c.component, c.position) == (last.component, opposite)
        }
    return [replace(claim, group=w.frame.group) for claim in elsewhere.values()]


def remark(w: Walk, i: int) -> None:
    """Keep a sentence that says what the play at hand moves: it goes with the reading."""
    item, frame = w.row[i], w.frame
    part = frame.part(w.vocabulary)
    if part is None or frame.component is None:
        w.claims.append(Claim("orphan", "", Position(), frame.group, item.start, item.end, name="moves"))
    elif not denials.negated(w, i):
        w.claims.append(
            Claim(
                kind="remark",
                component=frame.component,
                position=frame.position(part),
                group=frame.group,
                start=item.start,
                end=item.end,
                name="moves_alignment",
                weight=item.weight * frame.name_weight,
            )
        )


def _segment(w: Walk, i: int) -> int:
    """Offset behind the last break before item `i`."""
    return next((item.end for item in reversed(w.row[:i]) if item.is_break), 0)


def new_part(w: Walk, i: int) -> None:
    """For example "New hub for that side": a new part is asked for, of which something bad was said."""
    item, last = w.row[i], w.claims[-1] if w.claims else None
    label = item.named("component")
    opens = _NEW.fullmatch(w.text, _segment(w, i), item.start)
    if last is None or label is None or not opens or last.component != label.name or last.name == "ok":
        return
    for other in w.row[i + 1 :]:
        if other.is_break and other.strong:
            break
        if other.number is not None or other.named("condition"):
            return
    w.claims.append(
        replace(
            last,
            kind="action",
            name="replace",
            start=item.start,
            end=item.end,
            doubts=(),
            measure="",
            value=None,
        )
    )


def _of_a_tool(w: Walk, item: Item) -> bool:
    """Whether it is said of what is worked with: "my gauge was sticking"."""
    words = re.findall(r"[^\W\d_]+(?:'s)?", w.text[w.sentence_start : item.start].lower())[-3:]
    tools = w.vocabulary.fillers["tools"]
    right_before = words[-1:] if w.text[: item.start].rstrip().lower().endswith(tuple(words[-1:])) else []
    return any(word.removesuffix("'s") in tools for word in (right_before if w.named_here else words))


def _doubts(w: Walk, i: int) -> tuple[str, ...]:
    """Doubts about whose condition it is: no side was said, or a strange word stands right before it."""
    doubts = () if w.frame.content else place_doubts(w)
    item = w.row[i]
    before = next((other for other in reversed(w.row[:i]) if not other.named("head")), None)
    start = before.end if before is not None and before.is_break else item.start
    strange = context.strange_words(w.text, start, item.start, w.row, w.known)
    if strange:
        doubts += (f"“{strange}” was not understood: was another part meant?",)
    return doubts
