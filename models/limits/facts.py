"""The facts on which a limit can depend, and how a limit names them.

A limit holds for some trucks and places only ("air brakes", "the steering axle"). Its file says so under
``when:`` with the names below; :data:`FACTS` says what each may be and where a person sets it.
"""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from pydantic import ConfigDict

from models.frozen import Frozen
from models.patterns import examples, matches
from models.places import Position
from models.settings import TruckSettings
from models.vin import VinError, check_digit, normalized

Known = dict[str, "str | Fraction"]

PLAY_DIRECTIONS = {"axial_play": "axial", "radial_play": "radial", "end_play": "end"}


class Fact(Frozen):
    """One thing about a truck, a place or a reading.

    Attributes:
        words: what is missing when it is not known, as the end of "it is not known ...".
        remedy: what a person can do about it.
        values: what it may be; empty for a number or a name.
        named: it is a name, and limits give patterns for it.
    """

    words: str
    remedy: str
    values: tuple[str, ...] = ()
    named: bool = False


def _setting(name: str, words: str, *values: str) -> Fact:
    return Fact(words=words, remedy=f"set {name} under truck: in settings.yaml", values=values)


FACTS: dict[str, Fact] = {
    "axle": Fact(
        words="which axle it is on", remedy="say the axle or add it in review", values=("steering", "other")
    ),
    "direction": Fact(
        words="in which direction the play was felt",
        remedy="say axial, radial or end play",
        values=("axial", "radial", "end"),
    ),
    "battery_degF": Fact(
        words="how warm the battery was", remedy="say the battery's temperature, in one reading"
    ),
    "reservoir_psi": Fact(
        words="what pressure the air reservoir held", remedy="say the air tank's pressure, in one reading"
    ),
    "commercial": _setting(
        "commercial", "whether the federal motor carrier rules hold for this truck", "yes", "no"
    ),
    "gross_weight_lb": _setting("gross_weight_lb", "what gross weight the truck is rated for"),
    "brakes": _setting(
        "brakes", "whether the brakes are hydraulic, air or electric", "hydraulic", "air", "electric"
    ),
    "shoe_lining": _setting(
        "shoe_lining", "whether a shoe carries one strip of lining or two pads", "strip", "pads"
    ),
    "lining_held_by": _setting(
        "lining_held_by", "whether the linings are bonded or riveted", "bonding", "rivets"
    ),
    "steering": _setting("steering", "whether the steering is power or manual", "power", "manual"),
    "steering_wheel_in": _setting("steering_wheel_in", "how wide the steering wheel is"),
    "rim_in": _setting("rim_in", "how wide the rims are across the bead"),
    "hub_bearings": _setting(
        "hub_bearings", "whether the hub bearings are sealed units or adjustable", "sealed", "adjustable"
    ),
    "engine": _setting("engine", "whether the engine burns diesel or gasoline", "diesel", "gasoline"),
    "unit": Fact(words="what the shop calls the truck", remedy="name the unit", named=True),
    "vin": Fact(
        words="which VIN the truck has",
        remedy="set vin for the unit under trucks: in settings.yaml",
        named=True,
    ),
}


class Condition(Frozen):
    """What one fact must be for a limit to hold.

    A number holds when it lies within the ends given, is one of ``values`` where there are any, and is none
    of ``excluded``.

    Attributes:
        fact: its name in :data:`FACTS`.
        choices: allowed words; empty for a number.
        values: allowed numbers.
        excluded: numbers that are not allowed.
        low: lower end of the allowed numbers.
        low_included: the lower end itself is allowed.
        high: upper end of the allowed numbers.
        high_included: the upper end itself is allowed.
        patterns: of a name: one of these fits it.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    fact: str
    choices: tuple[str, ...] = ()
    values: tuple[Fraction, ...] = ()
    excluded: tuple[Fraction, ...] = ()
    low: Fraction | None = None
    low_included: bool = True
    high: Fraction | None = None
    high_included: bool = True
    patterns: tuple[str, ...] = ()

    def holds(self, value: str | Fraction) -> bool:
        """Whether the condition is met by a known value of its fact."""
        if isinstance(value, str):
            return value in self.choices or any(matches(value, p) for p in self.patterns)
        if (self.values and value not in self.values) or value in self.excluded:
            return False
        if self.low is not None and (value < self.low or (value == self.low and not self.low_included)):
            return False
        return self.high is None or value < self.high or (value == self.high and self.high_included)

    def turning_points(self) -> set[Fraction]:
        """The numbers at which the condition can change from met to not met."""
        ends = {end for end in (self.low, self.high) if end is not None}
        return ends | set(self.values) | set(self.excluded)


def samples(conditions: Iterable[Condition]) -> tuple[str | Fraction, ...]:
    """Values of one fact that between them stand for every value it can have.

    Args:
        conditions: all conditions on this one fact. Between two neighbouring turning points none of them
            changes, so one number there stands for all.
    """
    found = list(conditions)
    if FACTS[found[0].fact].named:
        return examples(p for c in found for p in c.patterns)
    words = FACTS[found[0].fact].values
    if words:
        return words
    points = sorted(set().union(*(c.turning_points() for c in found)))
    between = [(a + b) / 2 for a, b in pairwise(points)]
    return tuple(sorted([points[0] - 1, *points, *between, points[-1] + 1]))


def truck_facts(truck: TruckSettings) -> Known:
    """What the settings say about the shop's trucks, by the names of :data:`FACTS`."""
    known: Known = {}
    for name, fact in FACTS.items():
        value = getattr(truck, name, None)
        if value is None:
            continue
        if isinstance(value, bool):
            known[name] = "yes" if value else "no"
        elif fact.values or fact.named:
            known[name] = str(value)
        else:
            known[name] = Fraction(Decimal(str(value)))
    return known


def head_facts(unit: str | None, vin: str | None) -> Known:
    """What the head of a record says about the truck: its unit, and a VIN whose check digit fits.

    A VIN that was said and does not fit its check digit chooses no limit.
    """
    known: Known = {}
    if unit:
        known["unit"] = unit
    try:
        if vin and check_digit(vin) == normalized(vin)[8]:
            known["vin"] = normalized(vin)
    except VinError:
        pass
    return known


def place_facts(position: Position, measure: str) -> Known:
    """What the place and the measure of a finding say: the axle's task and the direction of play.

    The front axle, or axle 1, is taken to steer; every other axle not to.
    """
    known: Known = {}
    if position.axle is not None:
        known["axle"] = "steering" if position.axle in ("front", "axle_1") else "other"
    if measure in PLAY_DIRECTIONS:
        known["direction"] = PLAY_DIRECTIONS[measure]
    return known
