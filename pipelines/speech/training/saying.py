"""Numbers and units as a technician says them, beside the two ways a transcript writes them."""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

_ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["_", "_", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty-second", 64: "sixty-fourth"}


@dataclass(frozen=True)
class Said:
    """The same words three times.

    Attributes:
        say: for a synthesiser: abbreviations spelled out.
        words: as a transcript writes it with numbers in words.
        digits: as a transcript writes it with numbers in digits.
    """

    say: str
    words: str
    digits: str


def plain(text: str) -> Said:
    """Words that are written as they are said."""
    return Said(text, text, text)


def join(pieces: Sequence[Said], between: str = " ") -> Said:
    """One after another."""
    return Said(
        between.join(p.say for p in pieces),
        between.join(p.words for p in pieces),
        between.join(p.digits for p in pieces),
    )


def whole(n: int, joiner: str = " ") -> str:
    """A whole number below a million in full words."""
    if n < 20:
        return _ONES[n]
    if n < 100:
        return _TENS[n // 10] + (f" {_ONES[n % 10]}" if n % 10 else "")
    if n < 1000:
        rest = f"{joiner}{whole(n % 100)}" if n % 100 else ""
        return f"{_ONES[n // 100]} hundred{rest}"
    rest = f" {whole(n % 1000)}" if n % 1000 else ""
    return f"{whole(n // 1000)} thousand{rest}"


def by_pairs(n: int) -> str:
    """Three or four digits as they are said in pairs: 195 "one ninety five", 1450 "fourteen fifty"."""
    head, tail = divmod(n, 100)
    if tail == 0:
        return f"{whole(head)} hundred"
    return f"{whole(head)} {'oh ' if tail < 10 else ''}{whole(tail)}"


def one_by_one(digits: str, rng: Random) -> str:
    """Digits read singly, nought as "oh" or "zero"."""
    nought = rng.choice(("oh", "zero"))
    return " ".join(nought if d == "0" else _ONES[int(d)] for d in digits)


def integer(n: int, rng: Random) -> Said:
    """A whole number in one of the usual ways."""
    ways = [whole(n)] * 2
    if 100 <= n < 1000:
        ways += [whole(n, " and "), by_pairs(n), by_pairs(n)]
    if 1000 <= n < 10000 and n % 1000:
        ways += [by_pairs(n)] * 2
    way = rng.choice(ways)
    return Said(way, way, str(n))


def decimal(text: str, rng: Random) -> Said:
    """A decimal: "0.035" as "point oh three five" or "zero point zero three five"."""
    head, tail = text.split(".")
    after = one_by_one(tail, rng)
    if len(tail) == 2 and tail[0] != "0" and rng.random() < 0.4:
        after = whole(int(tail))
    before = whole(int(head)) if int(head) or rng.random() < 0.3 else ""
    spoken = f"{before} point {after}".strip()
    return Said(spoken, spoken, text)


def mixed(head: int, top: int, bottom: int, rng: Random) -> Said:
    """``head top/bottom`` as it stands, not reduced: six thirty-seconds stay thirty-seconds."""
    name = _PARTS[bottom]
    several = {"half": "halves"}.get(name, name + "s")
    if top == 1 and (head or rng.random() < 0.7):
        part = f"a {name}" if rng.random() < 0.6 else f"one {name}"
        part = "a half" if bottom == 2 else part
        part = "half" if bottom == 2 and not head and rng.random() < 0.5 else part
    else:
        part = f"{whole(top)} {name if top == 1 else several}"
    words = f"{whole(head)} and {part}" if head else part
    digits = f"{head} {top}/{bottom}" if head else f"{top}/{bottom}"
    return Said(words.replace("-", " "), words, digits)


def thousandths(n: int, rng: Random) -> Said:
    """So many thousandths of an inch, in the ways that are said without a doubt."""
    way = rng.random()
    if way < 0.15 and n <= 120:
        return Said(f"{whole(n)} thou", f"{whole(n)} thou", f"{n} thou")
    if way < 0.25 and n < 40:
        return Said(
            f"{whole(n)} and a half thousandths", f"{whole(n)} and a half thousandths", f"{n}.5 thousandths"
        )
    if way < 0.6:
        name = "thousandth" if n == 1 else "thousandths"
        return Said(f"{whole(n)} {name}", f"{whole(n)} {name}", f"{n} {name}")
    return decimal(f"0.{n:03d}", rng)


def negative(number: Said, rng: Random) -> Said:
    """Below zero."""
    if rng.random() < 0.7:
        return Said(f"minus {number.say}", f"minus {number.words}", f"minus {number.digits}")
    return Said(f"{number.say} below zero", f"{number.words} below zero", f"{number.digits} below zero")


# Each unit: what is said, written with words, written with digits.
UNITS: dict[str, tuple[Said, ...]] = {
    # Said letter by letter, as a synthesiser takes the word, and as pounds.
    "psi": (Said("P S I", "psi", "psi"), plain("psi"), plain("psi"), plain("pounds")),
    "kPa": (Said("kilopascals", "kilopascals", "kPa"),),
    "bar": (plain("bar"),),
    "mm": (Said("millimeters", "millimeters", "mm"), Said("millimeter", "millimeter", "mm")),
    "in": (plain("inches"), plain("inch"), plain("of an inch")),
    "V": (plain("volts"), plain("volts"), plain("volt")),
    "A": (plain("amps"),),
    "cca": (Said("C C A", "CCA", "CCA"), plain("cold cranking amps"), plain("cold cranking")),
    "ft-lb": (plain("foot pounds"), Said("foot pounds", "foot pounds", "ft-lbs")),
    "Nm": (plain("newton meters"),),
    "degF": (
        plain("degrees"),
        Said("degrees fahrenheit", "degrees Fahrenheit", "degrees Fahrenheit"),
        plain("degrees"),
    ),
    "degC": (Said("degrees celsius", "degrees Celsius", "degrees Celsius"),),
    "deg": (plain("degrees"), plain("degree")),
    "%": (Said("percent", "percent", "%"),),
    "min": (plain("minutes"),),
    "s": (plain("seconds"),),
    "ohm": (plain("ohms"),),
    "mV": (plain("millivolts"),),
    "mi": (plain("miles"),),
}


def with_unit(number: Said, unit: str, rng: Random, told: float = 1.0) -> Said:
    """The number with its unit, or without it in a share of ``1 - told``."""
    if rng.random() >= told:
        return number
    name = rng.choice(UNITS[unit])
    glued = unit == "%"
    return Said(
        f"{number.say} {name.say}",
        f"{number.words} {name.words}",
        f"{number.digits}{'' if glued else ' '}{name.digits}",
    )
