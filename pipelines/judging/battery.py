"""State of charge of a lead-acid battery from its rested voltage."""

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from models.limits.reader import exact_number
from models.limits.yaml_nodes import read_yaml
from models.rules import plain_words
from models.units import plain


class ChargeTable(NamedTuple):
    """Voltages of a rested battery at one temperature.

    Attributes:
        at_degf: the temperature of the table (degrees Fahrenheit).
        per_degf: how much a battery reads lower for each degree below it (volts).
        lowest: volts below which it is no 12 V battery at rest.
        highest: volts above which it is none.
        points: percent of charge and volts, rising.
        source: where it was published.
        loaded: phrases that say that a voltage was not taken at rest.
    """

    at_degf: Fraction
    per_degf: Fraction
    lowest: Fraction
    highest: Fraction
    points: tuple[tuple[Fraction, Fraction], ...]
    source: str
    loaded: tuple[str, ...]


@lru_cache(maxsize=1)
def charge_table() -> ChargeTable:
    """The shipped table.

    Raises:
        LimitsError: config/limits/tables/battery_charge.yaml is not usable.
    """
    root = read_yaml(Path(str(files("config") / "limits" / "tables" / "battery_charge.yaml")))
    fields = root.fields()
    rows = [[exact_number(number) for number in row.items()] for row in fields["percent_at_volts"].items()]
    lowest, highest = (exact_number(number) for number in fields["for_volts"].items())
    return ChargeTable(
        at_degf=exact_number(fields["at_degF"]),
        per_degf=exact_number(fields["volts_per_10_degF"]) / 10,
        lowest=lowest,
        highest=highest,
        points=tuple((percent, volts) for percent, volts in rows),
        source=fields["source"].text(),
        loaded=tuple(plain_words(phrase.text()) for phrase in fields["not_when_said"].items()),
    )


def under_load(heard: Iterable[str]) -> bool:
    """Whether a voltage was taken under load, by the words it was said with."""
    texts = [plain_words(text) for text in heard]
    return any(phrase in text for phrase in charge_table().loaded for text in texts)


def is_12_volt(volts: Fraction) -> bool:
    """Whether a loaded battery may be a 12 V one: a 24 V battery under load shows more than one at rest."""
    return volts <= charge_table().highest


def state_of_charge(volts: Fraction, degf: Fraction | None, table: ChargeTable) -> Fraction:
    """Percent of charge, between the table's rows on a straight line; 0 and 100 beyond its ends.

    Args:
        volts: open-circuit voltage of a rested 12 V battery.
        degf: the battery's temperature (degrees Fahrenheit); None takes the table's own.
        table: from :func:`charge_table`, which names its source.
    """
    colder = Fraction(0) if degf is None else table.at_degf - degf
    rested = volts + colder * table.per_degf
    (lowest, low), (highest, high) = table.points[0], table.points[-1]
    if rested <= low or rested >= high:
        return lowest if rested <= low else highest
    for (percent, at), (next_percent, next_at) in pairwise(table.points):
        if rested <= next_at:
            return percent + (next_percent - percent) * (rested - at) / (next_at - at)
    raise AssertionError("the ends were looked at before")


def charge_words(volts: Fraction, degf: Fraction | None) -> str | None:
    """The state of charge as a sentence without its full stop; None for what is no 12 V battery at rest."""
    table = charge_table()
    if not table.lowest <= volts <= table.highest:
        return None
    percent = state_of_charge(volts, degf, table)
    warmth = f"at {plain(table.at_degf)} °F" if degf is None else f"corrected from {plain(degf)} °F"
    return f"A 12 V battery, rested and {warmth}, is about {plain(percent, 0)} % charged at this voltage"
