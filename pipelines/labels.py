"""What the print and the bar codes in photos say: VIN, odometer, unit of a work order.

Nothing is corrected and little is concluded: what was seen stands in a notice with its text and its source.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from models.labels import SeenText
from models.record import Odometer
from models.vin import VinError, report

_VIN = re.compile(r"(?<![A-Z0-9])[A-Z0-9]{17}(?![A-Z0-9])")
_VIN_AFTER_WORD = re.compile(r"\bVIN\b[^A-Z0-9]*((?:[A-Z0-9] ?){17})(?![A-Z0-9])")
_LEAST_VIN_DIGITS = 4
_ODOMETER = re.compile(
    r"(?<![\d.,])(\d{1,3}(?:[ ,]\d{3})+|\d{3,7})(\.\d)?\s*(mi|miles|km)\b(?!\s*(?:/|per|to))", re.IGNORECASE
)
_UNIT = re.compile(r"\bUNIT\b(?:\s*(?:NO\b\.?|NUMBER\b|#|:|-))*\s*([A-Z0-9][A-Z0-9-]{0,11})(?![A-Z0-9])")
_MILES = frozenset({"mi", "miles"})


class Said(NamedTuple):
    """What is known of the truck without the label.

    Attributes:
        unit: its name.
        vin: as it was heard, or as the shop has it on file.
        odometer: as it was heard.
        gross_weight_lb: which the model year of a VIN needs.
    """

    unit: str | None
    vin: str | None
    odometer: Odometer | None
    gross_weight_lb: int | None


def _source(seen: SeenText) -> str:
    return "printed text" if seen.source == "print" else seen.source


def vins(seen: SeenText) -> list[str]:
    """What may be vehicle identification numbers in a text, exactly as it stands there."""
    text = seen.text.upper()
    found = [m.group(1).replace(" ", "") for m in _VIN_AFTER_WORD.finditer(text)] or _VIN.findall(text)
    if seen.source == "Code 39" and re.fullmatch(r"I[A-Z0-9]{17}", text):
        # Makers put an I before the number of an imported vehicle.
        found = [text[1:]]
    return [v for v in dict.fromkeys(found) if sum(c.isdigit() for c in v) >= _LEAST_VIN_DIGITS]


def certain_vin(texts: Sequence[SeenText]) -> str | None:
    """The number that bar codes give, when they give one only and its check digit fits; else None."""
    found = {v for seen in texts if seen.source != "print" for v in vins(seen)}
    if len(found) != 1:
        return None
    (vin,) = found
    try:
        return vin if report(vin).check_digit_fits else None
    except VinError:
        return None


def odometers(seen: SeenText) -> list[Odometer]:
    """Distances in miles or kilometres in a text, as odometers show them."""
    return [
        Odometer(
            value=Decimal(re.sub(r"[ ,]", "", m.group(1)) + (m.group(2) or "")),
            unit="[mi_i]" if m.group(3).lower() in _MILES else "km",
        )
        for m in _ODOMETER.finditer(seen.text)
    ]


def units(seen: SeenText) -> list[str]:
    """The units that a tag names."""
    return _UNIT.findall(seen.text.upper())


def _vin_notices(name: str, seen: SeenText, vin: str, said: Said) -> list[str]:
    try:
        found = report(vin, said.gross_weight_lb)
    except VinError as error:
        return [f"{name}: {_source(seen)} like a VIN in it: {error}"]
    fits = "its check digit fits" if found.check_digit_fits else "its check digit does not fit"
    out = [f"{name}: VIN {vin} in it ({_source(seen)}); {fits}."]
    if said.vin is not None and said.vin != vin:
        out.append(f"The VIN of this inspection is {said.vin}, but {name} shows {vin}: check which is right.")
    return out + list(found.problems)


def _odometer_notices(name: str, seen: SeenText, shown: Odometer, said: Said) -> list[str]:
    words = f"{shown.value:f} {'mi' if shown.unit == '[mi_i]' else 'km'}"
    heard = said.odometer
    if heard is None:
        return [f"{name}: odometer {words} in it ({_source(seen)})."]
    if (heard.value, heard.unit) == (shown.value, shown.unit):
        return [f"{name}: odometer {words} in it ({_source(seen)}), as it was said."]
    other = f"{heard.value:f} {'mi' if heard.unit == '[mi_i]' else 'km'}"
    return [f"The odometer was heard as {other}, but {name} shows {words}: check which is right."]


def _unit_notices(name: str, seen: SeenText, unit: str, said: Said) -> list[str]:
    if said.unit is not None and said.unit.upper() != unit:
        return [
            f"{name} names unit {unit} ({_source(seen)}), but this inspection is of unit {said.unit}: "
            "check where the photo belongs."
        ]
    return [f"{name}: unit {unit} in it ({_source(seen)})."]


def notices(name: str, texts: Sequence[SeenText], said: Said) -> list[str]:
    """Sentences about the texts of one photo.

    Args:
        name: of the photo.
        texts: its print and codes.
        said: what is known otherwise.
    """
    out: list[str] = []
    for seen in texts:
        for vin in vins(seen):
            out += _vin_notices(name, seen, vin, said)
        for shown in odometers(seen):
            out += _odometer_notices(name, seen, shown, said)
        for unit in units(seen):
            out += _unit_notices(name, seen, unit, said)
        if seen.source != "print":
            out.append(f"{name}: {seen.source} in it: “{seen.text}”.")
    if printed := [seen.text for seen in texts if seen.source == "print"]:
        out.append(f"{name}: printed text in it: “{'; '.join(printed)}”.")
    return list(dict.fromkeys(out))
