"""Plans: what must be measured on which kind of truck, in walk-round order. Read from config/plans/*.yaml.

A file holds one plan::

    plan: box_truck              # its name: truck.plan in the settings chooses it
    subject: box truck, two axles
    units: ["30*", "412"]        # optional: units whose plan it is, whatever the settings say
    stops:
      - stop: left front wheel end
        at: {side: left, axle: front}         # holds for every item to which such a place applies
        items:
          - {component: tire, measure: tread_depth}
          - {component: brake_pad, measure: thickness, face: [inner, outer]}     # one item for each
          - {component: brake_rotor, measure: thickness, readings: 4}            # at four spots
          - {component: [brake_hose, hub_seal]}                                  # without a measure: a look
          - {component: radiator_cap, measure: pressure_after_hold, together: [pressure, hold_time]}

``play`` is answered by play in any direction.
"""

from collections.abc import Iterable
from importlib.resources import files
from itertools import product
from pathlib import Path
from typing import Any, get_args

from models.frozen import Frozen
from models.limits.yaml_nodes import ConfigError, Entry, read_yaml
from models.patterns import matches
from models.places import AXES, TREAD_SPOTS, Axle, Face, Level, Position, Side
from models.record import PlanItem
from models.vocabulary import Vocabulary, load_vocabulary

MOST_READINGS = 12

_PLACES: dict[str, tuple[str, ...]] = {
    "side": get_args(Side),
    "axle": get_args(Axle),
    "level": get_args(Level),
    "face": get_args(Face),
    "spot": (*TREAD_SPOTS, *(f"point_{n}" for n in range(1, MOST_READINGS + 1))),
    "index": ("1", "2"),
}
_HEAD = ("plan", "subject", "units", "stops")
_STOP = ("stop", "at", "items")
_ITEM = ("component", "measure", "readings", "together", *AXES)

_Fields = dict[str, Entry]
_Places = dict[str, tuple[str, ...]]


class Plan(Frozen):
    """What must be measured on one kind of truck.

    Attributes:
        name: unique.
        subject: the kind of truck, in words.
        units: patterns of the units whose plan it is (``*`` stands for any characters).
        items: in walk-round order, all of them still missing.
        where: file and line it was read from.
    """

    name: str
    subject: str
    units: tuple[str, ...] = ()
    items: tuple[PlanItem, ...]
    where: str

    def names(self, unit: str | None) -> bool:
        """Whether the plan itself names a unit."""
        return unit is not None and any(matches(unit, p) for p in self.units)


class Plans:
    """All plans of a shop. Not changed after it was made.

    Attributes:
        by_name: every plan, the shop's own first.
    """

    def __init__(self, plans: tuple[Plan, ...] = ()) -> None:
        self.by_name = {plan.name: plan for plan in plans}

    def choose(self, unit: str | None, name: str | None) -> Plan | None:
        """The plan of a truck: the first that names the unit, else the one of this name, else none."""
        named = next((plan for plan in self.by_name.values() if plan.names(unit)), None)
        return named or (self.by_name.get(name) if name else None)


def _known(entry: Entry, allowed: tuple[str, ...], what: str) -> _Fields:
    fields = entry.fields()
    for name, field in fields.items():
        if name not in allowed:
            raise field.fail(
                f"'{name}' does not belong to {what}; it takes {', '.join(allowed)}: correct or remove it"
            )
    return fields


def _needed(entry: Entry, fields: _Fields, name: str, what: str) -> Entry:
    if name not in fields:
        raise entry.fail(f"{what} needs '{name}:'; add it")
    return fields[name]


def place_values(fields: dict[str, Entry]) -> _Places:
    """The place words among the fields, each with all its values, checked."""
    found: _Places = {}
    for axis in AXES:
        if axis not in fields:
            continue
        values = []
        for value in fields[axis].items():
            if value.text() not in _PLACES[axis]:
                raise value.fail(f"'{value.text()}' is no {axis}; use one of: {', '.join(_PLACES[axis])}")
            values.append(value.text())
        found[axis] = tuple(values)
    return found


def _count(fields: _Fields) -> int:
    if "readings" not in fields:
        return 1
    text = fields["readings"].text()
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= MOST_READINGS:
        raise fields["readings"].fail(
            f"'{text}' is no number of readings; write one from 1 to {MOST_READINGS}"
        )
    return int(text)


def _measure(entry: Entry, component: str, vocabulary: Vocabulary) -> str:
    measures = vocabulary.components[component].measures
    if entry.text() not in measures:
        has = f"it has {', '.join(measures)}" if measures else "nothing is; leave the measure out"
        raise entry.fail(f"'{entry.text()}' is not measured on a {component}: {has}")
    return entry.text()


def _item(entry: Entry, stop: str, at: _Places, vocabulary: Vocabulary) -> list[PlanItem]:
    fields = _known(entry, _ITEM, "an item of a plan")
    own = place_values(fields)
    found = []
    for part in _needed(entry, fields, "component", "an item of a plan").items():
        component = part.text()
        if component not in vocabulary.components:
            raise part.fail(
                f"'{component}' is not a part of the vocabulary; use an identifier under components"
            )
        axes = vocabulary.components[component].axes
        for axis in own:
            if axis not in axes:
                raise fields[axis].fail(f"a {component} has no {axis}; remove it")
        measure = _measure(fields["measure"], component, vocabulary) if "measure" in fields else None
        together = (
            tuple(_measure(e, component, vocabulary) for e in fields["together"].items())
            if "together" in fields
            else ()
        )
        common: dict[str, Any] = {
            "stop": stop,
            "component": component,
            "measure": measure,
            "readings": _count(fields),
            "together": together,
        }
        if measure is None and (common["readings"] > 1 or together):
            raise entry.fail("readings and together belong to an item with a measure; add it or remove them")
        places = {axis: values for axis, values in (at | own).items() if axis in axes}
        for values in product(*places.values()):
            keys = {a: int(v) if a == "index" else v for a, v in zip(places, values, strict=True)}
            found.append(PlanItem(position=Position.model_validate(keys), **common))
    return found


def _stop(entry: Entry, vocabulary: Vocabulary) -> list[tuple[PlanItem, Entry]]:
    fields = _known(entry, _STOP, "a stop of a plan")
    name = _needed(entry, fields, "stop", "a stop of a plan").text()
    at = place_values(_known(fields["at"], AXES, "at:")) if "at" in fields else {}
    items = _needed(entry, fields, "items", "a stop of a plan")
    return [(item, one) for one in items.items() for item in _item(one, name, at, vocabulary)]


def _refuse_twice(items: list[tuple[PlanItem, Entry]]) -> None:
    seen: dict[tuple[object, ...], PlanItem] = {}
    for item, entry in items:
        key = (item.component, item.position, item.measure)
        if key in seen:
            raise entry.fail(
                f"{item.words()} is asked for twice, at '{seen[key].stop}' and at '{item.stop}'; keep one"
            )
        seen[key] = item


def read_plan(path: Path, vocabulary: Vocabulary) -> Plan:
    """The plan of one file.

    Raises:
        ConfigError: a field is missing, unknown or does not fit the others.
    """
    root = read_yaml(path)
    fields = _known(root, _HEAD, "a plan")
    name = _needed(root, fields, "plan", "a plan").text()
    subject = _needed(root, fields, "subject", "a plan").text()
    stops = _needed(root, fields, "stops", "a plan")
    if not stops.is_list():
        raise stops.fail("stops: must hold a list of stops, each with '- stop: its name'")
    items = [item for stop in stops.items() for item in _stop(stop, vocabulary)]
    _refuse_twice(items)
    units = tuple(e.text() for e in fields["units"].items()) if "units" in fields else ()
    return Plan(
        name=name, subject=subject, units=units, items=tuple(item for item, _ in items), where=root.where
    )


def load_plans(folder: Path | None = None, *, own: Path | None = None, chosen: Iterable[str] = ()) -> Plans:
    """Every plan of a folder's YAML files, checked; the shop's own come first.

    Args:
        folder: by default the plans that are shipped.
        own: a further folder with the shop's plans; one that does not exist counts as empty. A plan of the
            same name there takes the place of a shipped one.
        chosen: the names that the settings choose; they must exist.

    Raises:
        ConfigError: a file is not usable, or a chosen plan does not exist; the message says what to do.
    """
    vocabulary = load_vocabulary()
    shipped = sorted((folder or Path(str(files("config") / "plans"))).glob("*.yaml"))
    groups = [sorted(own.glob("*.yaml")) if own is not None else [], shipped]
    found: dict[str, Plan] = {}
    for paths in groups:
        plans = [read_plan(path, vocabulary) for path in paths]
        for plan in plans:
            same = next((p for p in plans if p.name == plan.name and p is not plan), None)
            if same is not None:
                raise ConfigError(
                    f"{plan.where}: the plan '{plan.name}' is also at {same.where}; give it its own name"
                )
            found.setdefault(plan.name, plan)
    for name in (name for name in chosen if name not in found):
        raise ConfigError(
            f"The settings choose the plan '{name}', and there is none of that name: set plan under truck:"
            f" in settings.yaml to one of {', '.join(sorted(found))}, or to null"
        )
    return Plans(tuple(found.values()))
