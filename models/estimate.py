"""What the work on a truck may cost, as it goes into a record: by the shop's own table, never by ours."""

from decimal import Decimal
from typing import Literal

from models.frozen import Frozen
from models.places import Position

Basis = Literal["said", "suggested", "beyond limit"]


class EstimateLine(Frozen):
    """One piece of work.

    Attributes:
        component: identifier of the vocabulary.
        position: the place; only what tells one piece of work from another.
        action: identifier of the vocabulary.
        basis: the technician or the reviewer said so, a rule suggests it, or a reading is beyond its limit.
        reason: why, in words that can be printed.
        findings: ids of the findings it rests on.
        words: what the shop's table calls it.
        hours: labor; None when the table has no figures for it.
        labor: hours at the table's rate, to the cent.
        parts: price of the parts.
        total: labor and parts.
    """

    component: str
    position: Position = Position()
    action: str
    basis: Basis
    reason: str
    findings: tuple[str, ...]
    words: str = ""
    hours: Decimal | None = None
    labor: Decimal | None = None
    parts: Decimal | None = None
    total: Decimal | None = None


class Estimate(Frozen):
    """What the work may cost by the shop's table.

    Attributes:
        currency: as the table names it.
        labor_rate: for one hour.
        source: whose figures these are.
        as_of: when the table was made.
        lines: work that was said first, then what is only suggested or follows from a limit.
        total_said: of the lines that were said and have figures.
        total_further: of the other lines that have figures.
        without_figures: how many lines the table has no figures for; they are in no total.
    """

    currency: str
    labor_rate: Decimal
    source: str
    as_of: str
    lines: tuple[EstimateLine, ...]
    total_said: Decimal
    total_further: Decimal
    without_figures: int
