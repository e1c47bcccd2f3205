"""Single statements read from one hypothesis, before hypotheses are weighed against each other."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from models.places import Position


@dataclass(frozen=True)
class Option:
    """Another value the same words can mean, with its weight (0 to 1)."""

    value: Decimal
    unit: str
    weight: float


@dataclass(frozen=True)
class Claim:
    """One statement about one part.

    Attributes:
        kind: a reading, a condition, an action, a date code, a remark that goes with a reading; the wish to
            drop the last reading of an earlier window, or the condition `name`, or to ask about it; or an
            orphan: something that was heard, but not of which part.
        component: identifier.
        position: the place said or carried over.
        group: number of the mention it belongs to; statements of one group are about one thing.
        start: offset in the hypothesis.
        end: offset behind it.
        measure: of a reading.
        value: of a reading, with exactly the decimals given.
        unit: of a reading, UCUM.
        name: identifier of a condition or action, or the digits of a date code.
        options: other values the same words can mean.
        doubts: sentences for a person.
        weight: how well name and number fit, 0 to 1.
        hedged: "about", "roughly".
        given: the words of the number.
    """

    kind: Literal["reading", "condition", "action", "code", "remark", "drop", "ask", "orphan"]
    component: str
    position: Position
    group: int
    start: int
    end: int
    measure: str = ""
    value: Decimal | None = None
    unit: str = ""
    name: str = ""
    options: tuple[Option, ...] = ()
    doubts: tuple[str, ...] = ()
    weight: float = 1.0
    hedged: bool = False
    given: str = ""

    def what(self) -> tuple[str, ...]:
        """What is said, without where in the text: equal for two hypotheses that say the same."""
        place = "/".join(f"{k}={v}" for k, v in self.position.keys().items())
        value = "" if self.value is None else str(self.value.normalize())
        return (self.kind, self.component, place, self.measure, value, self.unit, self.name)


@dataclass(frozen=True)
class Heading:
    """What a hypothesis says about the inspection itself; `photos` are offsets where a photo is announced."""

    unit: str | None = None
    vin: str | None = None
    odometer: tuple[Decimal, str] | None = None
    ended: bool = False
    photos: tuple[int, ...] = ()
    remarks: tuple[str, ...] = ()
