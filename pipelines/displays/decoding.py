"""From the recogniser's probabilities to texts: CTC prefix search, and the share of each text."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipelines.displays.alphabet import CHARACTERS

Floats = NDArray[np.float32]


@dataclass(frozen=True)
class Heard:
    """What several looks at one strip say.

    Attributes:
        shares: probability of each text, averaged over the looks; best first.
        best: the greatest one of each look.
        marks: for the text with the greatest share, the peak probability of each character.
    """

    shares: tuple[tuple[str, float], ...]
    best: tuple[str, ...]
    marks: tuple[float, ...]


def prefix_search(steps: Floats, width: int = 8) -> dict[str, float]:
    """Probabilities of the most likely texts.

    Args:
        steps: time x classes, probabilities, class 0 blank.
        width: prefixes kept at each step.
    """
    beams: dict[str, tuple[float, float]] = {"": (1.0, 0.0)}
    for row in steps:
        ahead: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
        likely = [int(c) for c in np.flatnonzero(row[1:] > 1e-3) + 1]
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


def hear(looks: list[Floats]) -> Heard:
    """Join several looks at the same strip.

    Args:
        looks: for each look time x classes, log probabilities.
    """
    total: dict[str, float] = defaultdict(float)
    best, along = [], []
    for look in looks:
        steps = np.exp(look)
        found = prefix_search(steps)
        for text, p in found.items():
            total[text] += p / len(looks)
        best.append(max(found, key=lambda text: found[text]))
        along.append(peaks(steps))
    shares = tuple(sorted(total.items(), key=lambda item: -item[1])[:6])
    same = [marks for text, marks in along if text == shares[0][0]]
    marks = tuple(float(v) for v in np.mean(same, axis=0)) if same and same[0] else ()
    if len(marks) != len(shares[0][0]):
        marks = (shares[0][1],) * len(shares[0][0])
    return Heard(shares, tuple(best), marks)


def most_agreed(trials: list[Heard]) -> Heard:
    """One answer from several trials, where none is known to be the right one.

    The text with most support wins. How sure it may be is the mean of the two trials that support it most, so
    that one lucky trial alone never counts as certain.
    """
    total: dict[str, float] = defaultdict(float)
    for trial in trials:
        for said, p in trial.shares:
            # Squared, so that one clear look outweighs several vague ones.
            total[said] += p * p if said else 0.0
    text = max(total, key=lambda said: total[said])
    best = max(trials, key=lambda t: dict(t.shares).get(text, 0.0))
    marks = best.marks if best.shares[0][0] == text else (dict(best.shares).get(text, 0.0),) * len(text)
    support = sorted((dict(t.shares).get(text, 0.0) for t in trials), reverse=True)
    share = float(np.mean(support[:2]))
    others: dict[str, float] = {}
    for trial in trials:
        for other, p in trial.shares:
            if other != text:
                others[other] = max(others.get(other, 0.0), p / 2)
    ranked = sorted(others.items(), key=lambda item: -item[1])[:5]
    return Heard(((text, share), *ranked), best.best, marks)
