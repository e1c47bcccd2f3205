"""Identifiers, numbers and places in the words a reader sees."""

from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from models.record import Finding, LimitUsed, Reading
from models.units import UNITS

_STATES = {
    "proposed": "not decided",
    "confirmed": "confirmed",
    "corrected": "corrected",
    "rejected": "rejected",
    "added": "added by hand",
}


def ref_of(finding: str) -> str:
    """The end of a finding's id: 12 characters, which tell the findings of one inspection apart."""
    return finding[-12:]


def anchor(finding: str) -> str:
    """The name of a finding's place on the page of its inspection."""
    return f"f-{ref_of(finding)}"


def limit_key(limit: LimitUsed) -> tuple[str, ...]:
    """What makes two limits the same whatever each says of its reading."""
    return limit.id, limit.sentence, limit.source, limit.as_of


def words_of(identifier: str) -> str:
    """An identifier as words: ``tie_rod_end`` is ``tie rod end``."""
    return identifier.replace("_", " ")


def state_words(state: str) -> str:
    """What a reviewer did about a finding, in words."""
    return _STATES[state]


def trimmed(value: Decimal) -> Decimal:
    """The number without trailing zeros: for numbers that nobody gave with exact digits."""
    whole = value.to_integral_value()
    return whole if value == whole else value.normalize()


def unit_words(code: str) -> str:
    """A UCUM code as a person writes the unit; the code itself when it is not one that records use."""
    known = UNITS.get(code)
    return known.words if known else code


def value_words(value: Decimal, unit: str, measure: str = "") -> str:
    """A number with its unit, digits exactly as given. Tread depth reads in 32nds of an inch.

    Args:
        value: in ``unit``.
        unit: UCUM code.
        measure: identifier; only ``tread_depth`` makes a difference.
    """
    if measure == "tread_depth" and unit == "[in_i]":
        parts = Fraction(value) * 32
        if parts.denominator == 1:
            return f"{parts.numerator}/32 in"
    words = unit_words(unit)
    space = "" if words in {"%", "°"} else " "
    return f"{value:f}{space}{words}"


def reading_words(reading: Reading | None) -> str:
    """A reading's number and unit; ``no number`` when there is none."""
    if reading is None:
        return "no number"
    return value_words(reading.value, reading.unit, reading.measure)


def part_words(finding: Finding) -> str:
    """The part, or that nobody has said which."""
    return words_of(finding.component) if finding.component else "part not said"


def claim_words(finding: Finding) -> str:
    """A whole finding in one line: ``left front outer brake pad, thickness 6.0 mm, worn``."""
    pieces = [finding.position.of(part_words(finding))]
    if finding.reading is not None:
        pieces.append(f"{words_of(finding.reading.measure)} {reading_words(finding.reading)}")
    pieces += [words_of(condition) for condition in finding.conditions]
    if finding.action:
        pieces.append(words_of(finding.action))
    return ", ".join(pieces)


def confidence_words(confidence: float) -> str:
    """How sure the reading is, as a word and a share."""
    word = "clear" if confidence >= 0.9 else "fairly clear" if confidence >= 0.6 else "unclear"
    return f"{word} ({confidence:.0%})"


def time_words(moment: datetime) -> str:
    """A time on this computer's clock: ``2026-11-20 09:30``."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M}"


def marked(text: str, words: str) -> tuple[str, str, str]:
    """The text cut round the words it holds: before, the words, behind.

    When the words are not in it letter by letter, everything is ``before``.
    """
    at = text.casefold().find(words.casefold()) if words else -1
    if at < 0 or len(text) != len(text.casefold()):
        return text, "", ""
    return text[:at], text[at : at + len(words)], text[at + len(words) :]
