"""Weighs the claims of all hypotheses of a window against each other."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from models.transcript import Hypothesis
from models.units import UNITS
from pipelines.notes.claims import Claim, Option

# A claim that fewer hypotheses than this make is taken for a slip of the recogniser.
LEAST_SHARE = 0.4
SPELLED = 1.5
# An impossible reading still shows that something was said, but says little about what.
_LEAST_SAY = 0.05


@dataclass(frozen=True)
class Heard:
    """A claim with where it is in the sound.

    Attributes:
        weight: of the hypothesis it comes from.
        text: the sentence it was read from.
        given: the words of the number itself.
        opens: nothing was said before it in this window.
        closes: nothing was said behind it in this window.
    """

    claim: Claim
    weight: float
    start_s: float
    end_s: float
    text: str
    given: str
    opens: bool = False
    closes: bool = False


@dataclass
class Slot:
    """Claims of different hypotheses about the same moment."""

    heard: list[Heard] = field(default_factory=list)

    @property
    def start_s(self) -> float:
        """When it was said, by the heaviest hypothesis."""
        return self.heard[0].start_s


@dataclass(frozen=True)
class Voted:
    """What the hypotheses together say of one moment.

    Attributes:
        heard: the winning claim as its heaviest hypothesis has it.
        confidence: share of the weight that says the same, 0 to 1.
        options: other values, best first.
        rivals: what else was heard of it, in words, with its share.
    """

    heard: Heard
    confidence: float
    options: tuple[Option, ...]
    rivals: tuple[tuple[str, float], ...]


def _likeness(one: Claim, other: Claim, apart_s: float) -> float:
    """How sure two claims of different hypotheses are about the same moment; 0 or less when they are not."""
    if one.kind != other.kind or apart_s > 4.0:
        return 0.0
    likeness = 1.2 - apart_s
    likeness += 2.0 * (one.component == other.component)
    if one.kind in ("reading", "orphan"):
        likeness += 0.5 * (one.measure == other.measure) + 2.0 * (one.value == other.value)
        likeness += 0.7 * (one.position == other.position)
    else:
        likeness += 2.0 * (one.name == other.name) - 1.5
    return likeness


def _align(slots: list[Slot], row: list[Heard]) -> list[Slot]:
    """Merge the claims of one more hypothesis into the slots, keeping the order of both."""
    n, m = len(slots), len(row)
    best = [[0.0] * (m + 1) for _ in range(n + 1)]
    for i in range(n - 1, -1, -1):
        for j in range(m - 1, -1, -1):
            pair = _likeness(slots[i].heard[0].claim, row[j].claim, abs(slots[i].start_s - row[j].start_s))
            together = best[i + 1][j + 1] + pair if pair > 0 else 0.0
            best[i][j] = max(best[i + 1][j], best[i][j + 1], together)
    merged: list[Slot] = []
    i = j = 0
    while i < n and j < m:
        pair = _likeness(slots[i].heard[0].claim, row[j].claim, abs(slots[i].start_s - row[j].start_s))
        if pair > 0 and best[i][j] == best[i + 1][j + 1] + pair:
            slots[i].heard.append(row[j])
            merged.append(slots[i])
            i, j = i + 1, j + 1
        elif best[i][j] == best[i + 1][j]:
            merged.append(slots[i])
            i += 1
        else:
            merged.append(Slot([row[j]]))
            j += 1
    return merged + slots[i:] + [Slot([h]) for h in row[j:]]


def _words(claim: Claim) -> str:
    place = claim.position.words()
    unit = f" {UNITS[claim.unit].words}" if claim.unit else ""  # a number that fits no part may have none
    value = "" if claim.value is None else f" {claim.value:f}{unit}"
    return f"{place} {claim.component} {claim.measure or claim.name}".replace("_", " ").strip() + value


def _spelled(given: str) -> float:
    """A number spelled out ("thirty-six point nine two") says more: in digits a decoder drops one easily."""
    return SPELLED if " point " in f" {given.lower()} " and not any(c.isdecimal() for c in given) else 1.0


def _decide(slot: Slot) -> Voted | None:
    present = sum(h.weight for h in slot.heard)
    shares: dict[tuple[str, ...], float] = defaultdict(float)
    first: dict[tuple[str, ...], Heard] = {}
    for heard in slot.heard:
        what = heard.claim.what()
        shares[what] += heard.weight * max(heard.claim.weight, _LEAST_SAY) * _spelled(heard.given)
        if what not in first or heard.claim.weight > first[what].claim.weight:
            first[what] = heard
    ranked = sorted(shares.items(), key=lambda s: -s[1])
    winner = first[ranked[0][0]]
    if present < LEAST_SHARE:
        return None
    total = sum(shares.values()) + (1 - present)
    confidence = ranked[0][1] / total
    options: dict[tuple[str, ...], Option] = {}
    for what, share in ranked[1:]:
        claim = first[what].claim
        same = claim.component == winner.claim.component and claim.measure == winner.claim.measure
        if claim.value is not None and same and what[4:6] != ranked[0][0][4:6]:
            options.setdefault(what[4:6], Option(claim.value, claim.unit, round(share / total, 3)))
    for option in winner.claim.options:
        key = (str(option.value.normalize()), option.unit)
        options.setdefault(key, Option(option.value, option.unit, round(option.weight * 0.2, 3)))
    rivals = tuple((_words(first[what].claim), round(share / total, 2)) for what, share in ranked[1:4])
    return Voted(winner, confidence, tuple(options.values()), rivals)


def vote(rows: Sequence[list[Heard]]) -> list[Voted]:
    """What the hypotheses of one window say together, in order of time.

    Args:
        rows: for each hypothesis, heaviest first, its claims in order.
    """
    slots: list[Slot] = []
    for row in rows:
        slots = _align(slots, row)
    return [voted for slot in slots if (voted := _decide(slot)) is not None]


def carried(
    rows: Sequence[list[Heard]], voted: Sequence[Voted], weights: Sequence[float], contexts: Sequence[str]
) -> tuple[int, float]:
    """Which hypothesis' context to go on with, and the share of the weight that ends in the same context.

    Args:
        rows: for each hypothesis its claims.
        voted: what they say together.
        weights: of the hypotheses.
        contexts: for each hypothesis what it ends with: part, place, measure.
    """
    won = {v.heard.claim.what() for v in voted}
    shares: dict[str, float] = defaultdict(float)
    for weight, context in zip(weights, contexts, strict=True):
        shares[context] += weight

    def score(k: int) -> float:
        mine = {h.claim.what() for h in rows[k]}
        return len(won & mine) - len(mine - won) + 2 * shares[contexts[k]] + weights[k]

    best = max(range(len(rows)), key=score)
    return best, shares[contexts[best]] / sum(weights)


def placed(claims: list[Claim], hypothesis: Hypothesis) -> list[Heard]:
    """Claims with their times and the sentences they stand in."""
    heard = []
    for claim in claims:
        words = [w for w in hypothesis.words if w.end > claim.start and w.start < claim.end]
        start, end = _sentence(hypothesis.text, claim.start, claim.end)
        around = [w for w in hypothesis.words if w.end > start and w.start < end]
        if not words or not around:
            words = around = [hypothesis.words[0]] if hypothesis.words else []
        heard.append(
            Heard(
                claim=claim,
                weight=hypothesis.weight,
                start_s=words[0].start_s if words else 0.0,
                end_s=words[-1].end_s if words else 0.0,
                text=hypothesis.text[start:end].strip(),
                given=claim.given or hypothesis.text[claim.start : claim.end].strip(),
                opens=not re.search(r"\w", hypothesis.text[: claim.start]),
                closes=not re.search(r"\w", hypothesis.text[claim.end :]),
            )
        )
    return heard


def _sentence(text: str, start: int, end: int) -> tuple[int, int]:
    """Offsets of the sentence round a span; a decimal point ends none."""
    left = start
    while left > 0 and not (text[left - 1] in ".?!" and text[left : left + 1].isspace()):
        left -= 1
    right = end
    while right < len(text) and not (text[right - 1] in ".?!" and text[right : right + 1].isspace()):
        right += 1
    return left, right
