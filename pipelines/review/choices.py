"""What a reviewer can choose from: the identifiers and units that the published schema allows."""

import json
from functools import lru_cache
from importlib.resources import files
from typing import Any

from models.frozen import Frozen
from pipelines.review.words import unit_words, words_of


class Choices(Frozen):
    """Identifiers in the order of the schema.

    Attributes:
        components: parts.
        measures: what can be measured.
        units: UCUM codes that fit a measure.
        conditions: states of a part.
        actions: what is to be done.
        places: position axis -> its values, as text.
    """

    components: tuple[str, ...]
    measures: tuple[str, ...]
    units: dict[str, tuple[str, ...]]
    conditions: tuple[str, ...]
    actions: tuple[str, ...]
    places: dict[str, tuple[str, ...]]

    def all_units(self) -> tuple[str, ...]:
        """Every unit that fits some measure, once."""
        return tuple(dict.fromkeys(code for codes in self.units.values() for code in codes))

    def words(self, identifier: str) -> str:
        """An identifier or a UCUM code as words."""
        return unit_words(identifier) if identifier in self.all_units() else words_of(identifier)


def _units(reading: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    table: dict[str, tuple[str, ...]] = {}
    for rule in reading["allOf"]:
        codes = tuple(rule["then"]["properties"]["unit"]["enum"])
        table |= dict.fromkeys(rule["if"]["properties"]["measure"]["enum"], codes)
    return table


@lru_cache(maxsize=1)
def choices() -> Choices:
    """The choices of ``config/record.schema.json``."""
    schema = json.loads((files("config") / "record.schema.json").read_text(encoding="utf-8"))
    defs = schema["$defs"]
    places = defs["position"]["properties"]
    return Choices(
        components=tuple(sorted(defs["component"]["enum"])),
        measures=tuple(sorted(defs["measure"]["enum"])),
        units=_units(defs["reading"]),
        conditions=tuple(defs["condition"]["enum"]),
        actions=tuple(defs["action"]["enum"]),
        places={axis: tuple(str(value) for value in rule["enum"]) for axis, rule in places.items()},
    )
