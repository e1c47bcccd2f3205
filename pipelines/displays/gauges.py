"""The shop's own instruments (config/gauges.yaml), and what each of them can show."""

from decimal import Decimal
from importlib.resources import files
from pathlib import Path

from pydantic import Field, ValidationError, field_validator

from models.display import DisplayReading
from models.frozen import Frozen
from models.measures import DIMENSIONS
from models.units import UNITS
from models.yaml_file import YamlError, faults, read_yaml_file


class GaugeError(ValueError):
    """The file of instruments cannot be used; the message says which file and why."""


class Scale(Frozen):
    """What an instrument shows in one unit.

    Attributes:
        unit: UCUM code.
        decimals: the numbers of decimals it can show.
        low: least value.
        high: greatest value.
    """

    unit: str
    decimals: tuple[int, ...]
    low: Decimal
    high: Decimal

    @field_validator("unit")
    @classmethod
    def _known(cls, code: str) -> str:
        if code not in UNITS:
            raise ValueError(f"'{code}' is not a unit that records use; known: {', '.join(UNITS)}")
        return code


class Gauge(Frozen):
    """One instrument.

    Attributes:
        name: identifier.
        words: what people call it.
        measures: what is measured with it, in identifiers of the vocabulary; empty: anything in its units.
        scales: what it shows, by unit.
    """

    name: str
    words: tuple[str, ...] = Field(min_length=1)
    measures: tuple[str, ...] = ()
    scales: tuple[Scale, ...]

    @field_validator("measures")
    @classmethod
    def _measured(cls, measures: tuple[str, ...]) -> tuple[str, ...]:
        strange = [m for m in measures if m not in DIMENSIONS]
        if strange:
            raise ValueError(f"{', '.join(strange)}: no such measure; known: {', '.join(DIMENSIONS)}")
        return measures


def load_gauges(path: Path | None = None) -> tuple[Gauge, ...]:
    """The instruments of a shop.

    Args:
        path: a YAML file with a list ``gauges``; by default the one shipped in config.

    Raises:
        GaugeError: the file cannot be read or holds something else.
    """
    file = path or Path(str(files("config") / "gauges.yaml"))
    try:
        data = read_yaml_file(file)
        rows = data["gauges"]
        # Written as text, so that 12.70 keeps its digits and no binary fraction comes in between.
        return tuple(Gauge.model_validate(row) for row in rows)
    except YamlError as error:
        raise GaugeError(str(error)) from None
    except (KeyError, TypeError):
        raise GaugeError(f"{file} must hold a list 'gauges'") from None
    except ValidationError as error:
        raise GaugeError(f"{file}: {faults(error)}") from None


def cannot_show(gauge: Gauge, reading: DisplayReading) -> str | None:
    """Why this instrument cannot have shown that reading; None when it can, or when there is no value.

    A lost decimal point or a misread digit often gives something that the instrument has no way to show.
    """
    if reading.value is None:
        return None
    exponent = reading.value.as_tuple().exponent
    decimals = -exponent if isinstance(exponent, int) else 0
    scales = [s for s in gauge.scales if reading.unit in (None, s.unit)]
    if not scales:
        units = ", ".join(UNITS[s.unit].words for s in gauge.scales)
        return f"The {gauge.words[0]} does not show {_unit_words(reading)}: it shows {units}."
    if all(decimals not in s.decimals for s in scales):
        allowed = " or ".join(sorted({str(d) for s in scales for d in s.decimals}))
        return (
            f"The {gauge.words[0]} shows {allowed} decimals, but {reading.text} has {decimals}: "
            "a decimal point may be misread."
        )
    fitting = [s for s in scales if decimals in s.decimals]
    if not any(s.low <= reading.value <= s.high for s in fitting):
        low, high = min(s.low for s in fitting), max(s.high for s in fitting)
        return f"The {gauge.words[0]} shows values from {low} to {high}, but {reading.text} was read."
    return None


def _unit_words(reading: DisplayReading) -> str:
    known = UNITS.get(reading.unit or "")
    return known.words if known else str(reading.unit)
