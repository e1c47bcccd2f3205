"""Finds the words of the vocabulary in a text: exactly with spaCy, else by sound."""

import re
from collections.abc import Hashable, Iterator, Sequence
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Literal, NamedTuple

import jellyfish
import spacy
from rapidfuzz import fuzz, process
from spacy.language import Language
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc

from models.vocabulary import Vocabulary
from pipelines.notes.integers import DIGITS

Kind = Literal["component", "head", "area", "measure", "place", "condition", "action", "cue"]

# How alike two phrases must sound, by metaphone key and letters together, 0 to 100.
ALIKE = 77.0
# The same for names of few sounds, which many words come near to.
ALIKE_SHORT = 87.0
# The least that each word of a name must sound like what was heard in its place.
_ALIKE_WORD = 50.0
# A listed slip of the recogniser is nearly as good as the word itself.
SLIP_WEIGHT = 0.95
# Kinds that no likeness of sound overrules.
_FIRM = ("component", "condition", "action")
# Words that are nothing but these sound like no other name: "back brakes" is no parking brake.
_PLAIN_NAMES = ("place", "area", "component", "head")
# Kinds that a sentence can be about: "the right's tight"; a recogniser also writes "pad's" for "pads".
_SUBJECTS = ("component", "head", "measure", "place", "cue")
_LONGEST_WINDOW = 4
# Words so common that they are a place only behind another place: "left where tire".
_COMMON_SLIPS = ("where", "we're", "wear")
_NUMBERS = frozenset(DIGITS) | frozenset(str(value) for value in DIGITS.values())
_TOKEN = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*|\d+|[^\w\s,-]")
_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")


class Label(NamedTuple):
    """What a phrase stands for: the axis is set for places only."""

    kind: Kind
    name: str
    axis: str = ""


class Term(NamedTuple):
    """A phrase of the vocabulary in a text.

    Attributes:
        start: offset of its first character.
        end: offset behind its last character.
        labels: what it can stand for.
        weight: 1 for an exact match, less by sound.
    """

    start: int
    end: int
    labels: tuple[Label, ...]
    weight: float = 1.0


def _several(phrase: str) -> set[str]:
    return {phrase if phrase.endswith("s") else phrase + "s"}


@lru_cache(maxsize=65536)
def _key(phrase: str) -> str:
    return str(jellyfish.metaphone(phrase.replace("'", ""))).replace(" ", "")


def _likeness(
    one: Sequence[Hashable], other: Sequence[Hashable], *, score_cutoff: float | None = None
) -> float:
    """How alike two phrases sound: of (phrase, key) pairs, sound before spelling."""
    sound = fuzz.ratio(str(one[1]), str(other[1]))
    if sound < 60:
        return 0.0
    score = 0.6 * sound + 0.4 * fuzz.ratio(str(one[0]), str(other[0]))
    return score if score >= (score_cutoff or 0.0) else 0.0


class Lexicon:
    """A vocabulary made ready for matching; build once, use for every text."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        """Compile the phrases of `vocabulary`."""
        self._vocabulary = vocabulary
        self._phrases: dict[str, list[Label]] = {}
        self._slips: set[str] = set()
        self._collect()

    def _put(self, phrase: str, label: Label, *, plural: bool = False) -> None:
        forms = {phrase.lower()}
        if plural:
            forms |= _several(phrase.lower())
        if label.kind in _SUBJECTS:
            forms |= {form + "'s" for form in forms}
        for form in forms:
            labels = self._phrases.setdefault(form, [])
            if label not in labels:
                labels.append(label)

    def _collect(self) -> None:
        v = self._vocabulary
        for name, part in v.components.items():
            for phrase in part.words:
                self._put(phrase, Label("component", name), plural=True)
            for phrase in part.sounds:
                self._slip(phrase, Label("component", name))
        short = [word for part in v.components.values() for word in part.short]
        for phrase in (*v.fillers["heads"], *short):
            if phrase not in self._phrases:
                self._put(phrase, Label("head", phrase), plural=True)
        for phrase in v.areas:
            self._put(phrase, Label("area", phrase))
        for phrase, label in self._said():
            self._put(phrase, label)
        for phrase, label in self._misheard():
            self._slip(phrase, label)

    def _said(self) -> Iterator[tuple[str, Label]]:
        v = self._vocabulary
        groups: tuple[tuple[Kind, dict[str, tuple[str, ...]]], ...] = (
            ("measure", v.measures),
            ("condition", v.conditions),
            ("action", v.action_phrases()),
            ("cue", v.cues),
        )
        for kind, group in groups:
            for name, phrases in group.items():
                yield from ((phrase, Label(kind, name)) for phrase in phrases)
        for name, phrases in v.measures.items():
            yield from (
                (phrase + "s", Label("measure", name)) for phrase in phrases if phrase[-1:] not in "sng"
            )
        for axis, values in v.places.items():
            for name, phrases in values.items():
                yield from ((phrase, Label("place", name, axis)) for phrase in phrases)

    def _misheard(self) -> Iterator[tuple[str, Label]]:
        v = self._vocabulary
        for name, phrases in v.condition_sounds.items():
            yield from ((phrase, Label("condition", name)) for phrase in phrases)
        for axis, values in v.place_sounds.items():
            for name, phrases in values.items():
                yield from ((phrase, Label("place", name, axis)) for phrase in phrases)

    def _slip(self, phrase: str, label: Label) -> None:
        if phrase.lower() not in self._phrases:
            self._slips.add(phrase.lower())
        self._put(phrase, label)

    @cached_property
    def _matcher(self) -> PhraseMatcher:
        matcher = PhraseMatcher(self._nlp.vocab, attr="LOWER", validate=False)
        for phrase in self._phrases:
            matcher.add(phrase, [self._doc(phrase)[0]])
        return matcher

    @cached_property
    def _nlp(self) -> Language:
        return spacy.blank("en")

    def _doc(self, text: str) -> tuple[Doc, list[tuple[int, int]]]:
        """The words and marks of a text, and their offsets. Hyphens and commas count for nothing."""
        found = [(m.start(), m.end()) for m in _TOKEN.finditer(text)]
        return Doc(self._nlp.vocab, words=[text[start:end] for start, end in found]), found

    @cached_property
    def _by_sound(self) -> list[tuple[str, str]]:
        """(phrase, key) of names long enough to be told apart by sound."""
        rows = []
        for phrase, labels in self._phrases.items():
            if labels[0].kind == "component" and phrase not in self._slips:
                key = _key(phrase)
                if len(key) >= 4:
                    rows.append((phrase, key))
        return rows

    def find(self, text: str, taken: list[tuple[int, int]]) -> list[Term]:
        """The phrases of a text, longest first where they overlap, in order of place.

        Args:
            text: as heard.
            taken: offsets of numbers. A phrase that lies inside a number, or overlaps one without containing
                it, is left out; a name that contains a number ("axle one") stays.
        """
        plain = text.replace("’", "'")
        doc, offsets = self._doc(plain)
        candidates = []
        for match_id, start, end in self._matcher(doc):
            phrase = self._nlp.vocab.strings[match_id]
            labels = tuple(self._phrases[phrase])
            first, last = offsets[start][0], offsets[end - 1][1]
            # A recogniser sets a comma inside a name it did not know, but elsewhere a comma parts two things.
            if "," in plain[first:last] and labels[0].kind != "component" and labels[0].name != "mistake":
                continue
            candidates.append(Term(first, last, labels, SLIP_WEIGHT if phrase in self._slips else 1.0))
        candidates = [t for t in candidates if not _inside_number(t, taken)]
        candidates.sort(key=lambda t: (-(t.end - t.start), t.start))
        kept: list[Term] = []
        for term in candidates:
            if all(term.end <= k.start or term.start >= k.end for k in kept):
                kept.append(term)
        kept += self._heard(plain, kept, taken)
        return [
            t
            for t in sorted(kept)
            if t.weight == 1.0 or t.labels[0].kind != "place" or _leads(plain, t, kept, taken)
        ]

    def without_numbered_places(self, text: str) -> str:
        """The text with a mark for each letter of a number that is part of a place: "axle three"."""
        return self._numbered_places.sub(lambda m: m.group(1) + "#" * len(m.group(2)), text)

    @cached_property
    def _numbered_places(self) -> re.Pattern[str]:
        phrases = [p.split() for ways in self._vocabulary.places.values() for ps in ways.values() for p in ps]
        ends = {(" ".join(words[:-1]), words[-1]) for words in phrases if words[-1] in _NUMBERS and words[1:]}
        heads, numbers = ("|".join(sorted({end[k] for end in ends})) for k in (0, 1))
        return re.compile(rf"\b((?:{heads})\s+)({numbers})\b" if ends else r"(?!)()()", re.I)

    @cached_property
    def orders(self) -> frozenset[str]:
        """The verbs that something is ordered with, and those that lead to them: "have to", "need to"."""
        verbs = {forms[0].split()[0] for rows in self._vocabulary.action_verbs.values() for forms in rows}
        return frozenset(verbs | {"have", "need", "want", "put", "get", "see"})

    @property
    def pointing(self) -> tuple[str, ...]:
        """Words that make "one" a pronoun."""
        return self._vocabulary.fillers["pointing"]

    def _heard(self, text: str, kept: list[Term], taken: list[tuple[int, int]]) -> list[Term]:
        """Parts that nothing names exactly but something sounds like."""
        strong = [(t.start, t.end) for t in kept if t.labels[0].kind in _FIRM or " " in text[t.start : t.end]]
        blocked = strong + taken
        words = [
            (m.start(), m.end(), m.group().lower())
            for m in _WORD.finditer(text)
            if not any(m.start() < end and m.end() > start for start, end in blocked)
        ]
        exact = {(t.start, t.end) for t in kept if t.weight == 1 and t.labels[0].kind in _PLAIN_NAMES}
        measures = [(t.start, t.end) for t in kept if t.weight == 1 and t.labels[0].kind == "measure"]
        found: list[tuple[float, Term]] = []
        for size in range(_LONGEST_WINDOW, 0, -1):
            for i in range(len(words) - size + 1):
                window = words[i : i + size]
                if not _one_run(text, window) or all((start, end) in exact for start, end, _ in window):
                    continue
                if _all_common(window, measures, self._common):
                    continue
                best = self._sounds_like(" ".join(w[2] for w in window))
                if best is not None and not _loses_name(window, exact, best[0]):
                    term = Term(window[0][0], window[-1][1], tuple(self._phrases[best[0]]), best[1] / 100)
                    found.append((best[1] + size, term))
        chosen: list[Term] = []
        for _, term in sorted(found, key=lambda f: -f[0]):
            if all(term.end <= k.start or term.start >= k.end for k in chosen):
                chosen.append(term)
        kept[:] = [k for k in kept if all(k.end <= c.start or k.start >= c.end for c in chosen)]
        return chosen

    def _sounds_like(self, phrase: str) -> tuple[str, float] | None:
        words = phrase.split()
        small = self._vocabulary.fillers["small"]
        if len(words) == 1 and len(phrase) > 5 and phrase.endswith("ed"):
            return None  # what somebody did: "started" is no starter
        if words[0] in small or words[-1] in small:
            return None
        return self._nearest(phrase)

    @cached_property
    def _common(self) -> frozenset[str]:
        """Words that are no names, however much they sound like one."""
        fillers = self._vocabulary.fillers
        return frozenset((*fillers["pieces"], *fillers["plain"], *fillers["common"], *fillers["vehicles"]))

    def _nearest(self, phrase: str) -> tuple[str, float] | None:
        cached = self._cache.get(phrase, "?")
        if cached != "?":
            return cached  # type: ignore[return-value]
        key = _key(phrase)
        result = None
        if len(key) >= 4 and phrase not in self._phrases:
            best = process.extractOne((phrase, key), self._by_sound, scorer=_likeness, score_cutoff=ALIKE)
            if best is not None and not (
                _word_by_word(phrase, best[0][0]) and set(phrase.split()) - set(best[0][0].split())
            ):
                best = None
            if best is not None and (len(best[0][1]) > 4 or best[1] >= ALIKE_SHORT):
                result = (best[0][0], float(best[1]))
        self._cache[phrase] = result
        return result

    @cached_property
    def _cache(self) -> dict[str, tuple[str, float] | None]:
        return {}


def _all_common(
    window: list[tuple[int, int, str]], measures: list[tuple[int, int]], common: frozenset[str]
) -> bool:
    """Whether a window holds no word but common ones and names of measures: "pressure stood"."""
    return all(
        word in common or any(a <= start and end <= b for a, b in measures) for start, end, word in window
    )


def _loses_name(window: list[tuple[int, int, str]], exact: set[tuple[int, int]], name: str) -> bool:
    """Whether a word that is a name itself would become another: "the bearing shows" are no brake shoes."""
    heard = [word.removesuffix("s") for start, end, word in window if (start, end) in exact]
    return bool(set(heard) - {word.removesuffix("s") for word in name.split()})


def _word_by_word(heard: str, name: str) -> bool:
    """Whether no word of as many stands for quite another one: a steering hose is no steering wheel."""
    one, other = heard.split(), name.split()
    if len(one) != len(other) or len(one) == 1:
        return True
    return all(fuzz.ratio(_key(a), _key(b)) >= _ALIKE_WORD for a, b in zip(one, other, strict=True))


def _place_slip(term: Term) -> bool:
    return term.weight < 1 and term.labels[0].kind == "place"


def _leads(text: str, slip: Term, terms: list[Term], numbers: list[tuple[int, int]]) -> bool:
    """Whether a place word that was only heard by a slip stands right before a part or a number."""
    if text[slip.start : slip.end].lower() in _COMMON_SLIPS:
        places = [t for t in terms if t.labels[0].kind == "place" and t != slip]
        if not any(t.end < slip.start and text[t.end : slip.start].isspace() for t in places):
            return False
    parts = [t.start for t in terms if t.labels[0].kind in ("component", "head", "area", "place")]
    starts = parts + [start for start, _ in numbers]
    return any(slip.end < start and text[slip.end : start].strip(" ,") == "" for start in starts)


def _inside_number(term: Term, taken: list[tuple[int, int]]) -> bool:
    for start, end in taken:
        overlaps = term.start < end and term.end > start
        contains = term.start <= start and term.end >= end
        if overlaps and not contains:
            return True
        if contains and (term.start, term.end) == (start, end):
            return True
    return False


def _one_run(text: str, window: list[tuple[int, int, str]]) -> bool:
    """Whether nothing but blanks stands between the words of a window."""
    return all(text[a[1] : b[0]].strip(" -'") == "" for a, b in pairwise(window))
