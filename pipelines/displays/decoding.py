"""From the recogniser's probabilities to texts: CTC prefix search, and the share of each text."""

import re
from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pipelines.displays.alphabet import CHARACTERS

Floats = NDArray[np.float32]
Reader = Literal["read", "again"]
READERS: tuple[Reader, ...] = ("read", "again")

# Of 100 drawn strips 6 have a digit cut off at an end; photos of displays have fewer.
_CUT_RARER = 0.35

_TIME = re.compile(r"\d{1,2}:\d\d(:\d\d)?")


@dataclass(frozen=True)
class Heard:
    """What several looks at one strip say.

    Attributes:
        shares: probability of each text, averaged over the looks; best first.
        best: the greatest one of each look.
        marks: for the text with the greatest share, the peak probability of each character.
        digits: share of all texts that show the same digits as the first; 0 where it is not known.
        by: the network that looked.
    """

    shares: tuple[tuple[str, float], ...]
    best: tuple[str, ...]
    marks: tuple[float, ...]
    digits: float = 0.0
    by: Reader = "read"


def digits_only(text: str) -> str:
    """The text without its decimal point."""
    return text.replace(".", "")


def same_digits(text: str) -> str:
    """What texts have in common that differ in points, or in something cut off beside the same digits."""
    return digits_only(text).strip("?") or digits_only(text)


def _shown(text: str) -> str:
    """The text without colons that are none: they stand only in a time, else two specks look like one."""
    return text if _TIME.fullmatch(text) else text.replace(":", "")


def _digits_share(shares: dict[str, float], digits: str) -> float:
    return sum(p for text, p in shares.items() if same_digits(text) == digits)


def prefix_search(steps: Floats, width: int = 8) -> dict[str, float]:
    """Probabilities of the most likely texts.

    Args:
        steps: time x classes, probabilities, class 0 blank.
        width: prefixes kept at each step.
    """
    beams: dict[str, tuple[float, float]] = {"": (1.0, 0.0)}
    for row in steps:
        likely = [int(c) for c in np.flatnonzero(row[1:] > 1e-3) + 1]
        if not likely:
            # Most steps lie between characters: nothing is added, and the order stays.
            beams = {text: ((blank + char) * float(row[0]), 0.0) for text, (blank, char) in beams.items()}
            continue
        ahead: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
        for text, (blank, char) in beams.items():
            total = blank + char
            ahead[text][0] += total * float(row[0])
            for code in likely:
                letter, p = CHARACTERS[code - 1], float(row[code])
                if text and text[-1] == letter:
                    ahead[text][1] += char * p
                    ahead[text + letter][1] += blank * p
                else:
                    ahead[text + letter][1] += total * p
        kept = sorted(ahead.items(), key=lambda item: -sum(item[1]))[:width]
        beams = {text: (pair[0], pair[1]) for text, pair in kept}
    return {text: blank + char for text, (blank, char) in beams.items()}


def peaks(steps: Floats) -> tuple[str, tuple[float, ...]]:
    """The text along the best path, with the greatest probability of each of its characters."""
    best = steps.argmax(axis=1)
    text, marks, before = "", [], 0
    for code, row in zip(best, steps, strict=True):
        if code and code != before:
            text += CHARACTERS[code - 1]
            marks.append(float(row[code]))
        elif code:
            marks[-1] = max(marks[-1], float(row[code]))
        before = int(code)
    return text, tuple(marks)


def places(steps: Floats, also: str = "") -> tuple[float, ...]:
    """Where the digits of the most likely text lie, as shares of the steps from left to right.

    Args:
        steps: time x classes, log probabilities.
        also: further characters whose places are wanted.
    """
    best = steps.argmax(axis=1)
    starts = np.flatnonzero(np.diff(best, prepend=0))
    wanted = "0123456789" + also
    digits = [int(at) for at in starts if best[at] and CHARACTERS[best[at] - 1] in wanted]
    ends = [int(at) + int(np.argmax(np.append(best[at:], 0) != best[at])) for at in digits]
    return tuple((at + end) / 2 / len(best) for at, end in zip(digits, ends, strict=True))


def _as_often(found: dict[str, float]) -> dict[str, float]:
    """The probabilities as they would be had drawn pictures as few digits cut off as photos have."""
    rarer = {text: p * (_CUT_RARER if text.strip("?") != text else 1.0) for text, p in found.items()}
    scale = sum(found.values()) / max(sum(rarer.values()), 1e-9)
    return {text: p * scale for text, p in rarer.items()}


def hear(looks: list[Floats], by: Reader = "read") -> Heard:
    """Join several looks at the same strip.

    Args:
        looks: for each look time x classes, log probabilities.
        by: the network whose they are.
    """
    total: dict[str, float] = defaultdict(float)
    best, along = [], []
    for look in looks:
        steps = np.exp(look)
        found = _as_often(prefix_search(steps))
        for text, p in found.items():
            total[_shown(text)] += p / len(looks)
        best.append(_shown(max(found, key=lambda text: found[text])))
        along.append(peaks(steps))
    shares = tuple(sorted(total.items(), key=lambda item: -item[1])[:6])
    same = [marks for text, marks in along if text == shares[0][0]]
    marks = tuple(float(v) for v in np.mean(same, axis=0)) if same and same[0] else ()
    if len(marks) != len(shares[0][0]):
        marks = (shares[0][1],) * len(shares[0][0])
    return Heard(shares, tuple(best), marks, _digits_share(total, same_digits(shares[0][0])), by)


def most_agreed(trials: list[Heard]) -> Heard:
    """One answer from several trials, where none is known to be the right one.

    The digits with most support win, and among the texts that show them the one with most (with two points
    only when there is no other). How sure it may be is the mean of the two trials that support it most, so
    that one lucky trial alone never counts as certain; where two networks looked, the mean of both.
    """
    digits: dict[str, float] = defaultdict(float)
    total: dict[str, float] = defaultdict(float)
    for trial in trials:
        shares = {said: p / 2 if said.endswith(".") else p for said, p in trial.shares}
        # Squared, so that one clear look outweighs several vague ones.
        for said in {same_digits(text) for text in shares} - {""}:
            digits[said] += _digits_share(shares, said) ** 2
        for said, p in shares.items():
            total[said] += p * p
    most = max(digits, key=lambda said: digits[said], default="")
    alike = [said for said in total if same_digits(said) == most]
    text = max(alike, key=lambda said: (said.count(".") < 2, total[said])) if most else ""
    best = max(trials, key=lambda t: dict(t.shares).get(text, 0.0))
    marks = best.marks if best.shares[0][0] == text else (dict(best.shares).get(text, 0.0),) * len(text)
    share = _support(trials, [dict(t.shares).get(text, 0.0) for t in trials])
    others: dict[str, float] = {}
    for trial in trials:
        for other, p in trial.shares:
            if other != text:
                others[other] = max(others.get(other, 0.0), p / 2)
    ranked = sorted(others.items(), key=lambda item: -item[1])[:5]
    together = _support(trials, [_digits_share(dict(t.shares), most) for t in trials])
    return Heard(((text, share), *ranked), best.best, marks, together)


def together(wide: list[Heard], narrow: list[Heard]) -> list[Heard]:
    """Trials of one group of digits that count beside each other.

    Those of a narrower cut do not where they show but a part of what those of a wider one show: whoever sees
    less is surer of it.
    """
    if not narrow:
        return wide
    whole, part = (digits_only(most_agreed(trials).shares[0][0]) for trials in (wide, narrow))
    return wide if part in whole and part != whole else wide + narrow


def _support(trials: list[Heard], shares: list[float]) -> float:
    """How much the trials support what has these shares in them."""
    each = [
        sorted((share for trial, share in zip(trials, shares, strict=True) if trial.by == by), reverse=True)
        for by in {trial.by for trial in trials}
    ]
    return float(np.mean([np.mean(best[:2]) for best in each]))
