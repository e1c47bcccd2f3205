"""The shop's table of work: hours and prices for an estimate. Read from ``repairs.yaml`` of the data folder.

None is shipped: without the file there is no estimate. It looks like this::

    currency: USD
    labor_rate: 118.00           # for one hour
    source: price list of the garage
    as_of: 2026-11-01
    repairs:
      - component: brake_pad     # an identifier of the vocabulary
        action: replace
        words: set of pads for an axle
        one for: [axle]          # one piece of work for each axle; by default for each place of the part
        hours: 1.4
        parts: 96.50             # 0 where it takes none
        beyond: [thickness]      # a reading of it beyond its limit calls for the work, too
        at: {axle: front}        # only there
        units: ["23", "4*"]      # only for these trucks: goes before an entry for all

Numbers stay exact. Two entries that could both be meant for one piece of work are refused.
"""

import re
from decimal import Decimal
from itertools import combinations
from pathlib import Path

from models.frozen import Frozen
from models.limits.yaml_nodes import Entry, read_yaml
from models.patterns import common, matches
from models.places import AXES, Position
from models.plans import place_values
from models.vocabulary import Vocabulary, load_vocabulary

_HEAD = ("currency", "labor_rate", "source", "as_of", "repairs")
_REPAIR = ("component", "action", "words", "one for", "hours", "parts", "beyond", "at", "units")
_NEEDED = ("component", "action", "hours", "parts")
_AMOUNT = re.compile(r"\d{1,7}(\.\d{1,4})?")

Fields = dict[str, Entry]


class Repair(Frozen):
    """What one piece of work takes.

    Attributes:
        component: identifier of the vocabulary.
        action: identifier of the vocabulary.
        words: what the shop calls it.
        one_for: the places that tell one piece of work from another.
        hours: labor.
        parts: price of the parts.
        beyond: measures whose reading beyond its limit calls for the work.
        at: where it holds; empty: everywhere.
        units: patterns of the units it holds for; empty: all.
        where: file and line it was read from.
    """

    component: str
    action: str
    words: str
    one_for: tuple[str, ...]
    hours: Decimal
    parts: Decimal
    beyond: tuple[str, ...] = ()
    at: tuple[tuple[str, tuple[str, ...]], ...] = ()
    units: tuple[str, ...] = ()
    where: str

    def holds(self, position: Position, unit: str | None) -> bool:
        """Whether it is meant for this place and truck."""
        if self.units and not (unit is not None and any(matches(unit, p) for p in self.units)):
            return False
        return all(str(getattr(position, axis)) in values for axis, values in self.at)


class RepairTable(Frozen):
    """The shop's table.

    Attributes:
        currency: as on its bills.
        labor_rate: for one hour.
        source: whose figures these are.
        as_of: when it was made.
        repairs: in the order of the file.
    """

    currency: str
    labor_rate: Decimal
    source: str
    as_of: str
    repairs: tuple[Repair, ...]

    def find(self, component: str, action: str, position: Position, unit: str | None) -> Repair | None:
        """The entry for a piece of work, one for this truck before one for all; None when there is none."""
        found = [r for r in self.repairs if (r.component, r.action) == (component, action)]
        fitting = [r for r in found if r.holds(position, unit)]
        return next((r for r in fitting if r.units), fitting[0] if fitting else None)


def _amount(entry: Entry) -> Decimal:
    if not _AMOUNT.fullmatch(entry.text()):
        raise entry.fail(f"'{entry.text()}' is no amount; write it like 96.50, without a currency")
    return Decimal(entry.text())


def _words_of(fields: Fields, name: str, allowed: tuple[str, ...], what: str) -> tuple[str, ...]:
    if name not in fields:
        return ()
    for item in fields[name].items():
        if item.text() not in allowed:
            raise item.fail(f"'{item.text()}' is not {what}; use one of: {', '.join(allowed) or 'none'}")
    return tuple(item.text() for item in fields[name].items())


def _one(fields: Fields, name: str, allowed: tuple[str, ...], what: str) -> str:
    if fields[name].text() not in allowed:
        raise fields[name].fail(f"'{fields[name].text()}' is not {what}; use an identifier of those")
    return fields[name].text()


def _repair(entry: Entry, vocabulary: Vocabulary) -> Repair:
    fields = entry.only(_REPAIR, _NEEDED, "an entry under repairs")
    component = _one(fields, "component", tuple(vocabulary.components), "a part of the vocabulary")
    part = vocabulary.components[component]
    action = _one(fields, "action", tuple(vocabulary.actions), "an action of the vocabulary")
    at = place_values(fields["at"].only(AXES, (), "at:")) if "at" in fields else {}
    for axis in at:
        if axis not in part.axes:
            raise fields["at"].fail(f"a {component} has no {axis}; remove it")
    axes = tuple(axis for axis in part.axes if axis != "spot")
    own = _words_of(fields, "one for", part.axes, f"a place of a {component}")
    return Repair(
        component=component,
        action=action,
        words=fields["words"].text() if "words" in fields else f"{action} {component}".replace("_", " "),
        one_for=own or axes,
        hours=_amount(fields["hours"]),
        parts=_amount(fields["parts"]),
        beyond=_words_of(fields, "beyond", tuple(part.measures), f"measured on a {component}"),
        at=tuple(at.items()),
        units=tuple(e.text().upper() for e in fields["units"].items()) if "units" in fields else (),
        where=entry.where,
    )


def _clash(one: Repair, other: Repair) -> bool:
    """Whether both could be meant for one piece of work; an entry for some trucks goes before one for all."""
    if (one.component, one.action) != (other.component, other.action) or bool(one.units) != bool(other.units):
        return False
    if one.units and not any(common(p, q) is not None for p in one.units for q in other.units):
        return False
    mine, theirs = dict(one.at), dict(other.at)
    return all(set(mine[axis]) & set(theirs[axis]) for axis in mine.keys() & theirs.keys())


def load_repairs(path: Path) -> RepairTable | None:
    """The shop's table; None when there is no such file.

    Raises:
        ConfigError: the file is not usable; the message says which line of it and what to do.
    """
    if not path.exists():
        return None
    vocabulary = load_vocabulary()
    fields = read_yaml(path).only(_HEAD, _HEAD, "a table of repairs")
    if not fields["repairs"].is_list():
        raise fields["repairs"].fail("repairs: must hold a list, each with '- component: its name'")
    repairs = [_repair(entry, vocabulary) for entry in fields["repairs"].items()]
    entries = list(fields["repairs"].items())
    for (one, _), (other, entry) in combinations(zip(repairs, entries, strict=True), 2):
        if _clash(one, other):
            raise entry.fail(
                f"to {other.action} a {other.component} can also mean the entry at {one.where};"
                " narrow their at: or units:, or remove one"
            )
    return RepairTable(
        currency=fields["currency"].text(),
        labor_rate=_amount(fields["labor_rate"]),
        source=fields["source"].text(),
        as_of=fields["as_of"].text(),
        repairs=tuple(repairs),
    )
