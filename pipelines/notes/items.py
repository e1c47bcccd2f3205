"""A text as a row of items: names, numbers and breaks, in order."""

import re
from collections.abc import Container, Sequence
from typing import NamedTuple

from pipelines.notes.integers import DIGITS, TEENS, TENS
from pipelines.notes.lexicon import SLIP_WEIGHT, Label, Lexicon, Term
from pipelines.notes.numbers import NumberSpan, find_numbers

# "front one seven" is the front one: a number of both would have been read as one
_COUNT = re.compile(r"\s+(?:\d|(?:" + "|".join((*DIGITS, *TEENS, *TENS)) + r")\b)", re.I)
_AXLE = re.compile(
    r"(?:(?<=thousandths )|(?<=thousandth )|(?<=thou ))axle\b(?!\s+(?:\d|one|two|three))", re.I
)
# Alone it is asked for; "it's clean" is not.
_CLEAN = re.compile(r"(?<=[,.;] )clean(?=\s*(?:[,.;!]|$))", re.I)
# Points round a rotor: "at point two, 34.1", "point three comes in at 27.71"
_OPENS = r"(?:(?<=[.!?;,] )|^|(?<=^\s)|(?<=\bat )|(?<=\band )|(?<=\bthen ))"
_READS = (
    r"(?=\s*,|\s+(?:is|was|reads|read|measures|mikes|has|had|gives|gave|shows|comes|came|should|on|i|we|it"
    r"|that)\b)"
)
_POINT = re.compile(
    _OPENS
    + r"(?:point|spot|position)\s+(?P<n>\d{1,2}|"
    + "|".join(w for w, v in {**DIGITS, **TEENS}.items() if 0 < v < 13)
    + ")"
    + _READS,
    re.I,
)
# The same, as a recogniser writes it: "0.2, 34.1", "0.2 reads 28.40"
_POINT_IN_DIGITS = re.compile(
    _OPENS + r"0?\.(?P<n>[1-9])(?:(?=,\s+(?:\d{2}\.\d{1,3}|\d\.\d{2,3})\b)|(?!\s*,)" + _READS + ")", re.I
)
# One more of a list: "at point two thirty seven point six", "at 0.2 37.60", "at 0.237.6"
_POINT_GOING_ON = re.compile(
    r"(?<=\bat )(?:point\s+|0?\.)(?P<n>\d|"
    + "|".join(w for w, v in DIGITS.items() if 0 < v < 13)
    + r")(?=\s*\d{2}\.\d|\s+(?:"
    + "|".join((*TEENS, *TENS))
    + r")\b)",
    re.I,
)
# Behind its value: "1.418 inches at point one and 1.416 at point four", also written "at 0.1"
_VALUE = "|".join(("inch(?:es)?", "mm", "millimet(?:er|re)s?", "thou(?:sandths)?", *DIGITS, *TEENS, *TENS))
_POINT_BEHIND = re.compile(
    rf"(?:\d|\b(?:{_VALUE}))\s+at\s+(?P<at>(?:point\s+|0?\.)(?P<n>\d{{1,2}}|"
    + "|".join(w for w, v in {**DIGITS, **TEENS}.items() if 0 < v < 13)
    + r"))(?=\s+and\b|[,;!?]|\.?\s*$|\.\s|\s+\d+\.\d{2})",
    re.I,
)
_WORD_BEHIND = re.compile(r"\s+(?!(?:inch|percent|mil|and|on|at)\b)[^\W\d_]", re.I)
# "right" that is no side: "bent right behind the mount"
_RIGHT_THERE = re.compile(
    r"right\s+(?:behind|above|below|under|there|where|next|away|now|through|along|here|in the middle|up"
    r"|down)\b"
    # "over" that gives no bound: "over at the right rear"
    r"|over\s+(?:at|on|by|here|there|to)\b",
    re.I,
)
# "We'll" as a recogniser writes it: "there's a seep, wheel monitor it"
_WE_WILL = re.compile(
    r"(?:^|(?<=[.,;?!] )|(?<=\bso )|(?<=\band )|(?<=\bthen ))"
    r"wheel\s+(?:just\s+|only\s+)?(?P<verb>[^\W\d_]+)\b",
    re.I,
)
# "Where's the grease from": no rear, though it sounds like one
_ASKS = re.compile(r"where(?:'s|\s+(?:is|are|does|do|did|was))\b", re.I)
# "Before the paint shop sees it" is not seized
_SEEN = re.compile(r"\b(?:shop|customer|boss|driver|inspector|he|she|who|nobody|anybody|owner)\s+sees$", re.I)
_IDIOM = (Label("cue", "idiom"),)
_ALL_OF_THEM = re.compile(r"all (?:two|three|four|five|six|[2-6])", re.I)
_ONE = re.compile(r"\s+ones?\b", re.I)
_REMAINS = re.compile(r"\s+(?:on|in|of|at|to|before|there|till|until|and (?:the|it|that))\b", re.I)
_RIGHT_BEHIND = re.compile(r"\s+right\s*(?:[.,;]|$)", re.I)
_HAS = re.compile(r"\b(?:has|have|had|got|still)\s+(?:\w+\s+)?$", re.I)
_WHO = re.compile(r"\b(?:some\s?body|someone|they|he|she|we|i|who)\s+$", re.I)
_CLOSES = re.compile(r"\s*(?:[.,;!?]|$)")
_WORDS = re.compile(r"[^\W\d_]+")
_BREAK = re.compile(r"[.?!;:](?=\s|$)|,(?=\s|$)|(?<=\s)[-–](?=\s)")
# "The inner one twelve thousandths": the inner one has twelve
_ONE_AND_NUMBER = re.compile(
    r"(?:(?<=\bthe )|(?<=\band )|(?<=\bthat ))"
    r"(?P<place>left|right|front|rear|upper|lower|inner|outer|last|first|other)(?P<gap>\s+)(?P<one>one)"
    r"(?=\s+(?:" + "|".join((*DIGITS, *TEENS, *TENS)) + r")\b)",
    re.I,
)
_PLACED_ONE = re.compile(
    r"\b(?:the|that|this)\s+(?:left|right|upper|lower|inner|outer)\s+"
    r"(?:front|rear|upper|lower|inner|outer)\s+$",
    re.I,
)
# "8, 8 and 7/32": three depths of a tire, not 8 and 7/32 inches
_SAID = r"(?:\d{1,2}|" + "|".join((*DIGITS, *TEENS)) + ")"
_LIST_OF_DEPTHS = re.compile(
    rf"(?P<two>\b{_SAID}\s*[,.]\s+{_SAID})(?P<gap>\s+(?:and\s+)?)(?P<last>{_SAID}(?:/32|\s+thirty[\s-]seconds?)\b)",
    re.I,
)
# What makes "one" behind a place stand for a part: a verb, or a number of its own.
_PLACE = re.compile(r"left|right|front|rear|back|upper|lower|inner|outer|inside|outside|top|bottom")
_OF_ONE = re.compile(
    r"(?:'s|\s+(?:on|at|over|in|is|was|has|had|got|looks|feels|reads|measures|mikes|comes|shows))\b"
    r"|,\s+(?:same|on|at|over)\b|,\s+(?:\d|(?:point|an?|half|" + "|".join((*DIGITS, *TEENS, *TENS)) + r")\b)",
    re.I,
)


class Item(NamedTuple):
    """One item.

    Attributes:
        start: offset of its first character.
        end: offset behind its last character.
        labels: what a name can stand for; empty for numbers and breaks.
        number: for numbers.
        strong: for breaks: the end of a sentence, not a comma.
        weight: 1, less for a name that was only matched by sound.
    """

    start: int
    end: int
    labels: tuple[Label, ...] = ()
    number: NumberSpan | None = None
    strong: bool = False
    weight: float = 1.0

    @property
    def is_break(self) -> bool:
        """A comma or the end of a sentence."""
        return not self.labels and self.number is None

    def named(self, kind: str) -> Label | None:
        """The first label of a kind."""
        return next((label for label in self.labels if label.kind == kind), None)

    def cue(self, name: str) -> bool:
        """Whether the item is the cue of that name."""
        return any(label.kind == "cue" and label.name == name for label in self.labels)


def _pronoun(text: str, number: NumberSpan, pointing: Container[str]) -> bool:
    """Whether it is a pronoun: "the right one", "this one", "lower one, twenty six", "rear one is"."""
    before = _WORDS.findall(text[: number.start].lower())[-2:]
    if _ALL_OF_THEM.fullmatch(text[max(0, number.start - 4) : number.end]):
        return True
    if number.text.lower() not in ("one", "1", "one in") or not before:
        return False
    beside = text[: number.start].lower().endswith(before[-1] + " ")
    if beside and _PLACE.fullmatch(before[-1]) and _WORD_BEHIND.match(text, number.end):
        return True  # "left one no cracks", but "inner one." is a reading
    if _PLACED_ONE.search(text, 0, number.start):
        return True  # "seventy on the right rear one"
    if before[-1] in pointing or before[0] in ("the", "that", "this", "a", "an"):
        return True
    return bool(
        _PLACE.fullmatch(before[-1]) and (_OF_ONE.match(text, number.end) or _COUNT.match(text, number.end))
    )


def _without(text: str, points: Sequence[Item]) -> str:
    """The text with a mark for each letter of the names of points."""
    for point in points:
        text = text[: point.start] + "#" * (point.end - point.start) + text[point.end :]
    return text


def _numbers_apart(text: str) -> str:
    """The text with a mark for each letter of "one" between a place and a number of its own.

    Marked as well is what stands before the last depth of a list.
    """
    text = _LIST_OF_DEPTHS.sub(lambda m: m["two"] + ";" * len(m["gap"]) + m["last"], text)
    return _ONE_AND_NUMBER.sub(lambda m: f"{m['place']}{m['gap']}###", text)


def follows_one(text: str, number: Item) -> str:
    """The words of a number together with the "one" before it that was taken for a pronoun; else empty."""
    for match in _ONE_AND_NUMBER.finditer(text):
        if text[match.end() : number.start].isspace():
            return text[match.start("one") : number.end]
    return ""


def _person(text: str, terms: Sequence[Term], k: int) -> bool:
    """Whether "driver" or "passenger" is a person: neither a place nor a part stands right behind."""
    term = terms[k]
    if text[term.start : term.end].lower() not in ("driver", "passenger"):
        return False
    if _ONE.match(text, term.end):
        return False
    behind = terms[k + 1 : k + 2]
    return not any(
        text[term.end : after.start].isspace() and label.kind in ("place", "component")
        for after in behind
        for label in after.labels
    )


def _leaves(text: str, term: Term) -> bool:
    """Whether "left" tells what somebody did: "somebody left us a broken lamp"."""
    return text[term.start : term.end].lower() == "left" and _WHO.search(text, 0, term.start) is not None


def _other_side_said(text: str, number: NumberSpan, numbers: Sequence[NumberSpan]) -> bool:
    """Whether the right side was named before a number, which is the first of its sentence."""
    start = max((text.rfind(mark, 0, number.start) for mark in ".?!;"), default=-1) + 1
    first = not any(start <= other.start < number.start for other in numbers)
    return first and re.search(r"\bright\b", text[start : number.start], re.I) is not None


def _we_will(text: str, term: Term, lexicon: Lexicon) -> bool:
    """Whether "wheel" opens a clause of what is to be done."""
    said = _WE_WILL.match(text, term.start)
    return said is not None and said["verb"].lower() in lexicon.orders


def _remains(text: str, term: Term, numbers: Sequence[NumberSpan]) -> bool:
    """Whether "left" says what remains: "four millimeters left on the rear shoes"."""
    if text[term.start : term.end].lower() != "left":
        return False
    before = next((n for n in numbers if n.end < term.start and text[n.end : term.start].isspace()), None)
    if before is None:
        return False
    if any(_RIGHT_BEHIND.match(text, n.end) for n in numbers if n.start > term.end):
        return False  # "I have fifteen left, twenty eight right"
    has = _HAS.search(text, max(0, before.start - 20), before.start) and before.readings
    measured = bool(has) and before.readings[0].unit is not None
    if _other_side_said(text, before, numbers) and before.readings and before.readings[0].unit:
        measured = True  # "the right rear is worn, two millimeters left, replace it"
    return _REMAINS.match(text, term.end) is not None or (
        measured and _CLOSES.match(text, term.end) is not None
    )


def _points(text: str) -> list[Item]:
    """The names of points round a rotor: one to twelve."""
    found = []
    behind = [(m, *m.span("at")) for m in _POINT_BEHIND.finditer(text)]
    ahead = [(m, *m.span()) for m in (*_POINT.finditer(text), *_POINT_IN_DIGITS.finditer(text))]
    if ahead or behind:
        ahead += [(m, *m.span()) for m in _POINT_GOING_ON.finditer(text)]
    for match, start, end in ahead + [b for b in behind if all(b[1] >= a[2] or b[2] <= a[1] for a in ahead)]:
        n = match.group("n").lower()
        number = int(n) if n.isdecimal() else {**DIGITS, **TEENS}[n]
        if 0 < number < 13:
            label = Label("place", f"point_{number}", "spot")
            found.append(Item(start, end, labels=(label,)))
    return found


def _axial(text: str, row: Sequence[Item]) -> list[Item]:
    """The word "axle" behind thousandths, where a recogniser lost the end of "axial"."""
    label = Label("measure", "axial_play")
    found = [Item(*m.span(), labels=(label,), weight=SLIP_WEIGHT) for m in _AXLE.finditer(text)]
    return [item for item in found if all(item.end <= i.start or item.start >= i.end for i in row)]


def items(text: str, lexicon: Lexicon, pauses: Sequence[int] = ()) -> list[Item]:
    """The items of a text in order, without overlap.

    A name that contains a number ("axle one") takes the number in; a number's own dots are no breaks.

    Args:
        text: as heard.
        lexicon: finds names.
        pauses: offsets at which the speaker paused: the end of a sentence, whatever was written.
    """
    points = _points(text)
    numbers = [
        n
        for n in find_numbers(_numbers_apart(lexicon.without_numbered_places(_without(text, points))))
        if not _pronoun(text, n, lexicon.pointing)
    ]
    terms = lexicon.find(text, [(n.start, n.end) for n in numbers])
    terms = [t for t in terms if not any(p.start < t.end and t.start < p.end for p in points)]
    terms = [t for k, t in enumerate(terms) if not _person(text, terms, k) and not _remains(text, t, numbers)]
    terms = [t for t in terms if not _RIGHT_THERE.match(text, t.start) and not _leaves(text, t)]
    terms = [t for t in terms if not _ASKS.match(text, t.start) and not _SEEN.search(text[: t.end])]
    terms = [t._replace(labels=_IDIOM) if _we_will(text, t, lexicon) else t for t in terms]
    free = [n for n in numbers if not any(t.start < n.end and t.end > n.start for t in terms)]
    row = [Item(t.start, t.end, labels=t.labels, weight=t.weight) for t in terms]
    row += [Item(n.start, n.end, number=n) for n in free]
    row += points + _axial(text, row)
    row += [
        Item(m.start(), m.end(), labels=(Label("action", "clean"),))
        for m in _CLEAN.finditer(text)
        if all(m.end() <= i.start or m.start() >= i.end for i in row)
    ]
    for match in _BREAK.finditer(text):
        inside = any(i.start <= match.start() < i.end for i in row)
        if not inside:
            row.append(Item(match.start(), match.end(), strong=match.group() in ".?!;"))
    for at in pauses:
        if not any(i.start < at < i.end for i in row):
            row.append(Item(at, at, strong=True))
    return sorted(row, key=lambda i: (i.start, i.end))
