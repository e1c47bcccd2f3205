"""Scripts of inspections: what is said and photographed, and what a record of it must hold.

A script is a YAML file. Each line says one or more sentences and lists the findings that stand after it,
each in one short text::

    brake_pad left front outer | thickness 6.5 mm | uneven_wear | replace

which is component and place, then (where there is a number) measure, value and unit, then conditions and an
action. Values may be decimals, fractions (``7/32``) or both (``163 5/8``); units are the short words of
``UNIT_WORDS``.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, Literal

import yaml
from pydantic import ConfigDict, model_validator

from models.frozen import Frozen
from models.places import Position

CASES = Path(__file__).parent / "cases"
# What is said, without a voice: for the grammar alone.
SAID = Path(__file__).parent / "said"
DEMO = Path(__file__).parent / "demo.yaml"

UNIT_WORDS = {
    "in": "[in_i]", "mm": "mm", "psi": "[psi]", "F": "[degF]", "C": "Cel", "V": "V", "mV": "mV", "A": "A",
    "Ohm": "Ohm", "%": "%", "deg": "deg", "ftlb": "[ft_i].[lbf_av]", "min": "min", "s": "s", "mi": "[mi_i]",
    "km": "km",
}  # fmt: skip

_PLACES = {
    "left": "side", "right": "side", "front": "axle", "rear": "axle", "upper": "level", "lower": "level",
    "inner": "face", "outer": "face", "inside": "spot", "middle": "spot", "outside": "spot",
}  # fmt: skip
_ACTIONS = frozenset(
    ("keep", "monitor", "clean", "adjust", "tighten", "resurface", "repair", "replace", "measure_again")
)

# One script in three is held back, drawn by chance among the scripts of like voices.


class ScriptError(ValueError):
    """A script cannot be understood; the message names the text and what is wrong with it."""


class Expected(Frozen):
    """One finding that a record must hold.

    Attributes:
        component: identifier of the vocabulary.
        position: where.
        measure: identifier of the vocabulary, None for a finding without a number.
        value: exact value in ``unit``.
        unit: UCUM code.
        conditions: identifiers of the vocabulary.
        action: identifier of the vocabulary.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    component: str
    position: Position = Position()
    measure: str | None = None
    value: Fraction | None = None
    unit: str | None = None
    conditions: tuple[str, ...] = ()
    action: str | None = None

    def to_json(self) -> dict[str, Any]:
        """The finding in the format of a case's ``expected.json``."""
        return {
            "component": self.component,
            "position": self.position.keys(),
            "measure": self.measure,
            "value": None if self.value is None else float(self.value),
            "unit": self.unit,
            "conditions": list(self.conditions),
            "action": self.action,
        }


class Quantity(Frozen):
    """A value with its UCUM unit."""

    model_config = ConfigDict(arbitrary_types_allowed=True)

    value: Fraction
    unit: str


class Photo(Frozen):
    """A photo of a gauge, taken while a line is said.

    Attributes:
        text: the characters on the display.
        unit: the word of the unit beside them, as a gauge prints it.
        style: which gauge.
        after_s: seconds from the beginning of the line.
        harm: 0 for a clean picture, 1 for a poor phone in bad light.
        turn: degrees by which the gauge is turned; None leaves the view to chance.
        lean: strength of the perspective, as a share of the gauge's size; only with ``turn``.
    """

    text: str
    unit: str
    style: Literal["caliper", "dial_indicator", "pressure_gauge", "multimeter", "thermometer"]
    after_s: float = 2.0
    harm: float = 0.35
    turn: float | None = None
    lean: float = 0.06


class Line(Frozen):
    """Something said in one breath.

    Attributes:
        say: the words.
        pause: seconds of silence after it.
        finds: findings that stand after it.
        replaces: how many of the findings before it, the latest ones, it takes back.
        photo: a photo taken meanwhile.
    """

    say: str
    pause: float = 0.8
    finds: tuple[Expected, ...] = ()
    replaces: int = 0
    photo: Photo | None = None

    @model_validator(mode="before")
    @classmethod
    def _read_finds(cls, data: Any) -> Any:
        if isinstance(data, dict) and "finds" in data:
            return {**data, "finds": tuple(expected(text) for text in data["finds"])}
        return data


class Note(Frozen):
    """One recording.

    Attributes:
        voice: a key of ``samples.speech.VOICES``.
        lines: what is said.
        start_s: seconds from the start of the inspection to the start of the recording.
        file: ending of the sound file.
        noise: a key of ``samples.noise.NOISES``; None for a quiet place.
        snr_db: level of the speech over the noise, in decibel.
    """

    voice: str
    lines: tuple[Line, ...]
    start_s: float = 0.0
    file: Literal["flac", "wav", "ogg", "m4a"] = "flac"
    noise: str | None = None
    snr_db: float = 10.0


class Script(Frozen):
    """A whole inspection.

    Attributes:
        name: the file's name without its ending.
        topic: which part of the truck.
        unit: what the shop calls the truck.
        odometer: the distance said, or None.
        started: local time at which the first recording begins.
        notes: the recordings.
        held_back: nobody looks at how the program does on it before the end.
    """

    name: str
    topic: str
    unit: str
    odometer: Quantity | None = None
    started: datetime
    notes: tuple[Note, ...]
    held_back: bool = False

    def findings(self) -> list[Expected]:
        """All findings that stand at the end, in the order said."""
        standing: list[Expected] = []
        for note in self.notes:
            for line in note.lines:
                if line.replaces:
                    del standing[-line.replaces :]
                standing += line.finds
        return standing

    def to_expected(self) -> dict[str, Any]:
        """The content of the case's ``expected.json``."""
        distance = self.odometer
        return {
            "unit": self.unit,
            "odometer": distance and {"value": float(distance.value), "unit": distance.unit},
            "findings": [finding.to_json() for finding in self.findings()],
        }

    def note_start(self, note: Note) -> datetime:
        """When the recording begins."""
        return self.started + timedelta(seconds=note.start_s)


def number(text: str) -> Fraction:
    """The exact value of ``0.030``, ``7/32`` or ``163 5/8``."""
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except ValueError as error:
        raise ScriptError(f"'{text}' is not a number") from error


def quantity(text: str) -> Quantity:
    """A value and a unit word, such as ``163 5/8 in``."""
    value, _, unit = text.strip().rpartition(" ")
    if unit not in UNIT_WORDS:
        raise ScriptError(f"'{text}': the unit must be one of {', '.join(UNIT_WORDS)}")
    return Quantity(value=number(value), unit=UNIT_WORDS[unit])


def _position(words: Iterable[str]) -> Position:
    keys: dict[str, str | int] = {}
    for word in words:
        if word.startswith("diagonal_"):
            keys["index"] = int(word.removeprefix("diagonal_"))
        elif word.startswith("axle_"):
            keys["axle"] = word
        elif word.startswith("point_"):
            keys["spot"] = word
        elif word in _PLACES:
            keys[_PLACES[word]] = word
        else:
            raise ScriptError(f"'{word}' is not a place")
    return Position.model_validate(keys)


def expected(text: str) -> Expected:
    """The finding that a short text describes (see the head of this module).

    Raises:
        ScriptError: a part of the text is not understood.
    """
    head, *rest = (part.strip() for part in text.split("|"))
    component, *places = head.split()
    found: dict[str, Any] = {"component": component, "position": _position(places)}
    if rest and " " in rest[0]:
        measure, _, given = rest.pop(0).partition(" ")
        amount = quantity(given)
        found |= {"measure": measure, "value": amount.value, "unit": amount.unit}
    found["conditions"] = tuple(word for word in rest if word not in _ACTIONS)
    actions = [word for word in rest if word in _ACTIONS]
    if len(actions) > 1 or not (rest or "measure" in found):
        raise ScriptError(f"'{text}': a finding has a number, a condition or one action")
    return Expected(**found, action=actions[0] if actions else None)


def read_script(path: Path) -> Script:
    """The script in a YAML file.

    Raises:
        ScriptError: the file is not a script.
    """
    try:
        data = yaml.safe_load(path.read_text(encoding="utf-8"))
        distance = data.get("odometer")
        return Script.model_validate(
            {**data, "name": path.stem, "odometer": quantity(distance) if distance else None}
        )
    except (ValueError, AttributeError, yaml.YAMLError) as error:
        raise ScriptError(f"{path.name} is not a script of an inspection: {error}") from error


@cache
def all_cases() -> tuple[Script, ...]:
    """The scripts of the cases, by name."""
    return tuple(read_script(path) for path in sorted(CASES.glob("*.yaml")))
