"""How units are said and written, English."""

from typing import NamedTuple

from pipelines.notes.integers import small
from pipelines.notes.tokens import Token


class UnitWord(NamedTuple):
    """A unit that was read.

    Attributes:
        code: UCUM code, or None where the words leave it open.
        kind: for an open unit, which words they were: degrees, pounds, mil.
        end: index of the token behind it.
    """

    code: str | None
    kind: str | None
    end: int


_UNITS: dict[str, tuple[str | None, str | None]] = {}


def _add(code: str | None, *spoken: str, kind: str | None = None) -> None:
    for words in spoken:
        _UNITS[words] = (code, kind)


_add("mm", "millimeter", "millimeters", "millimetre", "millimetres", "mm", "mms", "milometers", "milimeters")
_add("cm", "centimeter", "centimeters", "centimetre", "centimetres", "cm")
_add("[in_i]", "inch", "inches", "of an inch", "in", '"', "inches of movement")
_add("[ft_i]", "feet", "foot")
_add(
    "[psi]",
    "psi",
    "p s i",
    "p . s . i .",
    "p . s . i",
    "pounds per square inch",
    "pounds of pressure",
    "psis",
)
_add("kPa", "kpa", "kilopascal", "kilopascals", "k p a", "kilo pascals")
_add("bar", "bar", "bars")
_add("V", "volt", "volts", "v")
_add("mV", "millivolt", "millivolts", "mv", "milli volts")
_add("A", "amp", "amps", "ampere", "amperes", "a")
_add("mA", "milliamp", "milliamps", "ma")
_add("Ohm", "ohm", "ohms", "Ω", "ω")
_add("kOhm", "kiloohm", "kilo ohms", "kilohms", "k ohms")
_add(
    "[ft_i].[lbf_av]",
    "foot pounds",
    "foot pound",
    "foot - pounds",
    "ft lbs",
    "ft - lbs",
    "pound feet",
    "ft lb",
)
_add("[ft_i].[lbf_av]", "pounds of torque", "ft . lbs", "foot - pound")
_add("N.m", "newton meters", "newton meter", "newton metres", "newton - meters", "nm", "n m")
_add("%", "percent", "%", "per cent")
_add("min", "minute", "minutes", "min", "mins")
_add("s", "second", "seconds", "secs", "sec")
_add("h", "hour", "hours", "hrs")
_add("[mi_i]", "mile", "miles")
_add("km", "kilometer", "kilometers", "kilometre", "kilometres", "km", "k m")
_add("[degF]", "degrees fahrenheit", "degrees f", "° f", "fahrenheit", "degree fahrenheit", "deg f", "f")
_add(
    "Cel", "degrees celsius", "degrees c", "° c", "celsius", "degrees centigrade", "centigrade", "deg c", "c"
)
_add(
    None, "miles an hour", "miles per hour", "mph", "kilometers an hour", "kilometers per hour", kind="speed"
)
_add(None, "degree", "degrees", "deg", "°", kind="degrees")
_add(None, "pound", "pounds", "lbs", "lb", kind="pounds")
_add(None, "mil", kind="mil")

_LONGEST = max(len(words.split()) for words in _UNITS)
# One letter or a common word: a unit only right behind the digits ("12.45V", "142in").
_ONLY_GLUED = frozenset({"a", "v", "f", "c", "nm", "ma"})


def unit_word(tokens: list[Token], i: int) -> UnitWord | None:
    """The longest unit that starts at `i`, or None; "of a volt" is one too."""
    if i + 2 < len(tokens) and tokens[i].text == "of" and tokens[i + 1].text in ("a", "an"):
        return unit_word(tokens, i + 2)
    for length in range(min(_LONGEST, len(tokens) - i), 0, -1):
        part = tokens[i : i + length]
        words = " ".join(t.text for t in part)
        if words not in _UNITS:
            continue
        if words in _ONLY_GLUED and not (part[0].glued or words in "vf"):
            continue
        code, kind = _UNITS[words]
        if words == "in" and _preposition(tokens, i):
            continue
        return UnitWord(code, kind, i + length)
    return None


def _preposition(tokens: list[Token], i: int) -> bool:
    """Whether "in" goes on with a place or a part of one ("6 in the middle", "one in three quarter")."""
    following = tokens[i + 1].text if i + 1 < len(tokens) else ""
    if i + 1 < len(tokens) and (tokens[i + 1].kind == "num" or small(tokens, i + 1)):
        return True
    return following in {
        "the",
        "play",
        "and",
        "a",
        "it",
        "on",
        "front",
        "back",
        "there",
        "here",
        "this",
        "total",
    }
