"""The page for the bay: what must still be measured, or measured again, while the truck is up."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from models.frozen import Frozen
from models.record import PlanItem, Record
from models.store.store import AMENDMENT
from pipelines.review import views
from pipelines.review.desk import ADesk, page

router = APIRouter(include_in_schema=False)
MOST_TRUCKS = 6


class Stop(Frozen):
    """One stop of the walk round with what is asked there."""

    name: str
    items: tuple[PlanItem, ...]


class Truck(Frozen):
    """One truck in the bay.

    Attributes:
        id: of its inspection.
        unit: what the shop calls it.
        dates: first to last capture, in words.
        again: what must be measured or said again.
        missing: what is missing, by stop.
        planned: a plan says what must be measured; without one nothing can be missing.
    """

    id: str
    unit: str
    dates: str
    again: tuple[PlanItem, ...]
    missing: tuple[Stop, ...]
    planned: bool

    @property
    def count(self) -> int:
        """How many things are asked."""
        return len(self.again) + sum(len(stop.items) for stop in self.missing)


@router.get("/bay")
def bay_page(request: Request, desk: ADesk) -> Response:
    """The newest trucks whose record is not signed, each with its call-back list.

    An amendment puts a record right whose truck has left the bay: it asks for nothing here.
    """
    trucks: list[Truck] = []
    open_rows = (row for row in desk.store.inspections() if row.state != "signed")
    rows = [row for row in open_rows if not row.folder.startswith(AMENDMENT)]
    for row in rows[:MOST_TRUCKS]:
        case = desk.case(row.id)
        if case.record is not None:
            again, missing = asked(case.record)
            trucks.append(
                Truck(
                    id=row.id,
                    unit=views.unit_of(case),
                    dates=views.dates_of(case),
                    again=again,
                    missing=missing,
                    planned=case.record.plan_name is not None,
                )
            )
    return page(request, "bay.html", trucks=trucks, may_send=desk.inbox is not None)


def asked(record: Record) -> tuple[tuple[PlanItem, ...], tuple[Stop, ...]]:
    """The call-back list: what to measure again, and what is missing at each stop, in walk-round order."""
    again = tuple(item for item in record.call_back if item.state == "measure again")
    stops: dict[str, list[PlanItem]] = {}
    for item in record.call_back:
        if item.state == "missing":
            stops.setdefault(item.stop, []).append(item)
    return again, tuple(Stop(name=name, items=tuple(items)) for name, items in stops.items())
