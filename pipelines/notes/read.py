"""The notes stage: every hypothesis of every window is read, and what they say together is kept."""

import re
from collections import defaultdict
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple, TypeVar

from models.notes import SpokenNotes
from models.record import Odometer
from models.transcript import Hypothesis, Transcript, Window
from models.units import UNITS
from models.vocabulary import Vocabulary
from pipelines.notes.assemble import assemble, orphans
from pipelines.notes.claims import Heading
from pipelines.notes.context import pauses_of
from pipelines.notes.frame import Frame
from pipelines.notes.lexicon import Lexicon
from pipelines.notes.reader import Reader
from pipelines.notes.voting import Voted, carried, placed, vote

T = TypeVar("T")

# A remark with less of the hypotheses' weight behind it is taken for a slip of the recogniser.
LEAST_REMARK = 0.3
_HUNDRED = 100


@lru_cache(maxsize=2)
def _lexicon(vocabulary_json: str) -> Lexicon:
    return Lexicon(Vocabulary.model_validate_json(vocabulary_json))


class _Read(NamedTuple):
    """What one window says: claims, the context behind it, its headings, and when photos are announced."""

    voted: list[Voted]
    frame: Frame
    headings: list[tuple[float, Heading]]
    photos: list[float]


def _time_of(hypothesis: Hypothesis, offset: int) -> float:
    return next((w.start_s for w in hypothesis.words if w.end > offset), 0.0)


def _read_window(window: Window, frame: Frame, lexicon: Lexicon, vocabulary: Vocabulary) -> _Read:
    rows, frames, headings = [], [], []
    for hypothesis in window.hypotheses:
        reader = Reader(hypothesis.text, frame, lexicon, vocabulary, pauses_of(hypothesis))
        claims, after, heading = reader.read()
        rows.append(placed(claims, hypothesis))
        frames.append(after)
        headings.append((hypothesis.weight, heading))
    voted = vote(rows)
    weights = [h.weight for h in window.hypotheses]
    best, share = carried(rows, voted, weights, [after.context() for after in frames])
    frames[best].sure = share
    photos = [_time_of(window.hypotheses[best], at) for at in headings[best][1].photos]
    return _Read(voted, frames[best], headings, photos)


def _elect(votes: list[tuple[float, T | None]]) -> tuple[T | None, float]:
    """The value that most weight stands behind, and its share of the weight that says anything."""
    shares: dict[T, float] = defaultdict(float)
    for weight, value in votes:
        if value is not None:
            shares[value] += weight
    if not shares:
        return None, 0.0
    best = max(shares, key=lambda value: shares[value])
    return best, shares[best] / sum(shares.values())


def _split_number(voted: list[tuple[Voted, tuple[str, ...]]], claims: list[Voted]) -> str:
    """A doubt when one window ends with a number and the next begins with one: they may be one number."""
    if not voted or not claims:
        return ""
    last, first = voted[-1][0].heard, claims[0].heard
    if not (last.closes and first.opens and last.claim.kind == first.claim.kind == "reading"):
        return ""
    if UNITS[last.claim.unit].dimension != UNITS[first.claim.unit].dimension:
        return ""
    return f"“{last.given}” and “{first.given}” were said without a pause that tells them apart: one number?"


def _goes_on(voted: list[tuple[Voted, tuple[str, ...]]], window: Window) -> str:
    """A doubt when one window ends with whole hundreds and the next begins so: "six hundred. And ten"."""
    last = voted[-1][0].heard if voted else None
    if last is None or not last.closes or last.claim.kind != "reading" or last.claim.value is None:
        return ""
    follows = any(re.match(r"\W*and\b", h.text, re.I) for h in window.hypotheses)
    whole = last.claim.value >= _HUNDRED and last.claim.value % _HUNDRED == 0
    return (
        f"“{last.given}” ends before a pause and “and” follows: does the number go on?"
        if follows and whole
        else ""
    )


def _spoken(sentence: str) -> str:
    """A sentence without what is written but not said: capitals and marks."""
    return " ".join(re.findall(r"[^\W_]+", sentence.lower()))


def _remarks(heard: list[tuple[str, float]]) -> list[str]:
    """The remarks to keep: of each kind the one that most weight stands behind, if that is enough.

    Remarks of one kind begin with the same word ("Complaint", "Odometer"). The hypotheses word them
    differently, so the weight behind a kind counts, and its heaviest wording is told. A second one of the
    same kind stands when enough weight of its own is behind it: two complaints in one breath.

    Args:
        heard: remarks with the weight of the hypotheses that make them.
    """
    kinds: dict[str, float] = defaultdict(float)
    for remark, weight in heard:
        kinds[remark.split()[0]] += weight
    kept: list[str] = []
    told: set[str] = set()
    for remark, weight in sorted(heard, key=lambda r: -r[1]):
        kind = remark.split()[0]
        first = kind not in told and kinds[kind] > LEAST_REMARK
        if first or weight > LEAST_REMARK:
            kept.append(remark)
            told.add(kind)
    return kept


class _Heading:
    """The first sure heading of each kind over all windows."""

    def __init__(self) -> None:
        self.unit: str | None = None
        self.vin: str | None = None
        self.odometer: tuple[Decimal, str] | None = None
        self.ended = False
        self.remarks: list[str] = []

    def add(self, headings: list[tuple[float, Heading]]) -> None:
        unit, unit_share = _elect([(w, h.unit) for w, h in headings])
        odometer, odometer_share = _elect([(w, h.odometer) for w, h in headings])
        vin, _ = _elect([(w, h.vin) for w, h in headings])
        self.unit = self.unit or unit
        self.vin = self.vin or vin
        if self.odometer is None and odometer is not None:
            self.odometer = odometer
            if odometer_share < 0.6:
                self.remarks.append(f"The odometer was not heard clearly: {odometer[0]:f}?")
        if unit is not None and unit_share < 0.6:
            self.remarks.append(f"The unit was not heard clearly: {unit}?")
        self.ended = self.ended or sum(w for w, h in headings if h.ended) > 0.5
        heard: dict[str, float] = defaultdict(float)
        originals: dict[str, str] = {}
        for weight, heading in headings:
            for words, remark in {_spoken(r): r for r in heading.remarks}.items():
                heard[words] += weight
                originals.setdefault(words, remark)
        self.remarks += _remarks([(originals[r], weight) for r, weight in heard.items()])


def read_notes(transcript: Transcript, vocabulary: Vocabulary) -> SpokenNotes:
    """All that one audio file says.

    Args:
        transcript: windows with weighted hypotheses.
        vocabulary: the shop's language.

    Returns:
        Findings in the order said. What could not be settled is named in their ``attention``.
    """
    lexicon = _lexicon(vocabulary.model_dump_json())
    frame = Frame()
    voted: list[tuple[Voted, tuple[str, ...]]] = []
    heading = _Heading()
    doubts: list[str] = []
    photos: list[float] = []
    for window in transcript.windows:
        if not window.hypotheses:
            doubts += [f"At {window.start_s:.0f} s: {doubt}" for doubt in window.doubts]
            continue
        claims, frame, headings, announced = _read_window(window, frame, lexicon, vocabulary)
        photos += announced
        split = _split_number(voted, claims) or _goes_on(voted, window)
        if split:
            voted[-1] = (voted[-1][0], (*voted[-1][1], split))
        voted += [
            (claim, (*window.doubts, *([split] if split and k == 0 and claim.heard.opens else [])))
            for k, claim in enumerate(claims)
        ]
        heading.add(headings)
    odometer = heading.odometer
    return SpokenNotes(
        capture=transcript.capture,
        unit=heading.unit,
        vin=heading.vin,
        odometer=Odometer(value=odometer[0], unit=odometer[1]) if odometer else None,
        findings=assemble(voted),
        photo_cues=tuple(round(at, 2) for at in photos),
        attention=tuple(dict.fromkeys([*heading.remarks, *doubts, *orphans(voted)])),
        ended=heading.ended,
    )
