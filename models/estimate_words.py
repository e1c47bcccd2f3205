"""An estimate in words and rows: the same on the review page, the terminal and the report."""

from decimal import Decimal

from models.estimate import Estimate, EstimateLine
from models.frozen import Frozen

NO_FIGURES = "no figures on file"
_BASIS = {
    "said": "What was said to be done",
    "suggested": "What nobody has decided: suggested by a rule, or called for by a limit",
}


class Row(Frozen):
    """One piece of work, ready to be printed.

    Attributes:
        work: place, part and what is done.
        hours: labor in hours; empty without figures.
        labor: its price; empty without figures.
        parts: their price; empty without figures.
        total: both, or that there are no figures.
        reason: why.
    """

    work: str
    hours: str
    labor: str
    parts: str
    total: str
    reason: str


class Part(Frozen):
    """The work of one kind: its heading, its rows and their total."""

    title: str
    rows: tuple[Row, ...]
    total: str


class EstimateShown(Frozen):
    """An estimate, ready to be printed.

    Attributes:
        whose: whose figures these are, and as of when.
        parts: what was said, then what nobody has decided.
        doubts: what the totals do not hold, and what they are not.
    """

    whose: str
    parts: tuple[Part, ...]
    doubts: tuple[str, ...]


def money(amount: Decimal | None, currency: str) -> str:
    """An amount with its currency: ``1,204.50 USD``; empty for none."""
    return "" if amount is None else f"{amount:,.2f} {currency}"


def _row(line: EstimateLine, currency: str) -> Row:
    place = f"{line.position.words()} {line.component.replace('_', ' ')}".strip()
    return Row(
        work=f"{place[:1].upper()}{place[1:]}: {line.words}",
        hours="" if line.hours is None else f"{line.hours} h",
        labor=money(line.labor, currency),
        parts=money(line.parts, currency),
        total=money(line.total, currency) or NO_FIGURES,
        reason=line.reason,
    )


def estimate_shown(estimate: Estimate | None) -> EstimateShown | None:
    """The estimate as it is printed; None without one, or when nothing is to be done."""
    if estimate is None or not estimate.lines:
        return None
    currency = estimate.currency
    parts = []
    for basis, total in (("said", estimate.total_said), ("suggested", estimate.total_further)):
        lines = [line for line in estimate.lines if (line.basis == "said") == (basis == "said")]
        if lines:
            rows = tuple(_row(line, currency) for line in lines)
            parts.append(Part(title=_BASIS[basis], rows=rows, total=money(total, currency)))
    doubts = ["An estimate is no offer: taxes, small parts and what is found on the way are not in it."]
    if estimate.without_figures:
        many = estimate.without_figures > 1
        count = f"{estimate.without_figures} {'pieces' if many else 'piece'} of work"
        doubts.insert(
            0, f"The table has no figures for {count}: {'they are' if many else 'it is'} in no total."
        )
    rate = money(estimate.labor_rate, currency)
    return EstimateShown(
        whose=f"By {estimate.source}, as of {estimate.as_of}; labor at {rate} an hour.",
        parts=tuple(parts),
        doubts=tuple(doubts),
    )
