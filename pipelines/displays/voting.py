"""Joining what the readers say of one group of digits into one text and how sure it is."""

import re
from dataclasses import dataclass
from decimal import Decimal

from pipelines.displays.decoding import Heard, digits_only, same_digits

_NUMBER = re.compile(r"-?\d*\.?\d+|-?\d+\.")
# A point between digits; one before the first or after the last is more often a mark beside them.
_POINTED = re.compile(r"-?\d+\.\d+")
_OVERLOAD = re.compile(r"-?\.?0\.?L\.?|-?L|1?-?OL")
_ERROR = re.compile(r"-?E(rr?|--?)?-?\d{0,2}")

SURE = 0.9
# A text that is more likely wrong than right is no reading. The best of several trials looks better than it
# is: of texts with less than this, most are wrong.
LEAST = 0.6
# From here on a visibly bad picture has been read all the same, and only what is doubtful is asked.
STEADY = 0.8
DOUBTFUL = 0.85
_FAINT = 0.01
# The share from which a point counts although looks without it have a greater one.
_POINT_SEEN = 0.1
# The share from which something beside the digits that is no digit may be one cut off.
_FRAGMENT = 0.04
# The share from which what mostly looks like a piece of a first digit may be a 1, the only digit that looks
# like one. Of 1,104 drawn strips with a first digit cut off, 8 reach it.
_ONE_SEEN = 0.2


@dataclass(frozen=True)
class Vote:
    """The joint answer.

    Attributes:
        text: as shown, in the recogniser's characters; empty when nothing is lit.
        confidence: 0 to 1.
        marks: confidence of each character.
        others: other texts with their weights, best first.
    """

    text: str
    confidence: float
    marks: tuple[float, ...]
    others: tuple[tuple[str, float], ...]

    def point_doubted(self) -> bool:
        """Whether another reading has the same digits with the point elsewhere, or none."""
        return any(digits_only(text) == digits_only(self.text) for text, _ in self.others)


def with_far_minus(vote: Vote, far: tuple[str, ...]) -> Vote:
    """The vote, with a minus sign when a look far to the left shows one before the same number.

    Such a sign is never certain, because an edge of the window can look like one; but a sign that is lost
    without a word would be worse.
    """
    signed = "-" + vote.text
    if vote.text.startswith("-") or number(vote.text) is None or signed not in far:
        return vote
    confidence = min(vote.confidence, DOUBTFUL)
    return Vote(signed, confidence, (0.5, *vote.marks), ((vote.text, 1 - confidence), *vote.others))


def with_first_one(vote: Vote) -> Vote:
    """The vote with a first 1 for a piece of a digit, when a fair share of the looks saw one: a question."""
    text = "1" + vote.text[1:]
    seen = dict(vote.others).get(text, 0.0)
    if cut_end(vote.text) != "left" or number(text) is None or seen < _ONE_SEEN:
        return vote
    others = ((vote.text, vote.confidence), *(pair for pair in vote.others if pair[0] != text))
    return Vote(text, min(vote.confidence, LEAST), (seen, *vote.marks[1:]), others)


def first_one_in_doubt(vote: Vote) -> bool:
    """Whether the first 1 may be a piece of another digit."""
    return vote.text.startswith("1") and "?" + vote.text[1:] in dict(vote.others)


def join(heard: Heard, geometry: str | None) -> Vote:
    """One text out of the recogniser's looks and the segments' geometry.

    The recogniser leads. Looks that show the same digits count together; where they put the point elsewhere,
    the answer is never sure. Geometry that agrees takes away a good part of the remaining doubt; geometry
    that read something else keeps the answer from being sure. Looks that differ among themselves have
    already lowered the share.

    Args:
        heard: the recogniser's looks.
        geometry: the text by segment geometry, None when it could not tell.
    """
    heard = _with_lost_point(heard)
    text, share = heard.shares[0]
    share = min(max(share, heard.digits), 1.0)
    others = list(heard.shares[1:])
    united = sum(same_digits(look) == same_digits(text) for look in heard.best) / max(len(heard.best), 1)
    confidence = share * (0.7 + 0.3 * united)
    if geometry == text:
        confidence = 1 - (1 - confidence) * 0.4
    elif geometry is not None:
        confidence = min(confidence * 0.9, DOUBTFUL)
        if geometry not in dict(others):
            others.append((geometry, 0.1))
    if _point_or_end_in_doubt(text, heard.shares[1:]) or text.endswith("."):
        confidence = min(confidence, DOUBTFUL)
    return Vote(text, min(confidence, 0.995), heard.marks, tuple(others[:4]))


def _with_lost_point(heard: Heard) -> Heard:
    """The looks, with the text that has a point before the same digits without one.

    Looks lose a point far more often than they invent one, so a fair share for it outweighs a greater one
    without. Both together say how sure the digits are; the point stays in doubt.
    """
    (text, share), *rest = heard.shares
    pointed = [(other, p) for other, p in rest if _POINTED.fullmatch(other) and digits_only(other) == text]
    if number(text) is None or "." in text or not pointed or pointed[0][1] < _POINT_SEEN:
        return heard
    other, p = pointed[0]
    at = other.index(".")
    marks = (*heard.marks[:at], p, *heard.marks[at:])
    left = tuple(pair for pair in rest if pair[0] != other)
    best = tuple(other if look == text else look for look in heard.best)
    return Heard(((other, share + p), (text, share), *left), best, marks, heard.digits)


def _point_or_end_in_doubt(text: str, others: tuple[tuple[str, float], ...]) -> bool:
    """Whether even a faint second reading has the same digits with another point, or more characters.

    A point is the smallest thing on a display and the first to be lost, and a faint last digit is the next.
    What is left reads perfectly well, so a small share of doubt already counts.
    """
    for other, share in others:
        # Print and edges beside the digits often look a little like a piece of a digit.
        least = _FRAGMENT if other.strip("?") == text else _FAINT
        if share >= least and (digits_only(other) == digits_only(text) or text in other):
            return True
    return False


def cut_end(text: str) -> str | None:
    """The end (left or right) at which a number goes on with something that is no whole digit; else None."""
    if number(text.strip("?")) is None:
        return None
    return "left" if text.startswith("?") else "right" if text.endswith("?") else None


def perhaps_cut(vote: Vote) -> str | None:
    """The end at which some looks saw the number go on with something that is no whole digit; else None."""
    for other, share in vote.others:
        if share >= _FRAGMENT and same_digits(other) == same_digits(vote.text) and (end := cut_end(other)):
            return end
    return None


def number(text: str) -> Decimal | None:
    """The number shown, with exactly its decimals; None when the text is not a number."""
    return Decimal(text) if _NUMBER.fullmatch(text) else None


def overload(text: str) -> str | None:
    """The mark, in the usual spelling, when a display shows that it cannot show the value."""
    if _OVERLOAD.fullmatch(text):
        return "-OL" if text.startswith("-") else "OL"
    if _ERROR.fullmatch(text):
        return "Err"
    return None
