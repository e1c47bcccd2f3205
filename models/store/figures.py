"""How full it is: what waits, how long already, and what is on its way out."""

from datetime import datetime

from sqlalchemy import Exists, exists, func, select

from models.frozen import Frozen
from models.store import tables as t
from models.store.connection import Database

_FIRST_STAGES = ("transcript", "display")


class Figures(Frozen):
    """The state at one moment.

    Attributes:
        captures: taken in since ever.
        waiting: captures that no recogniser has been through.
        oldest_waiting: when the first of them arrived; None when none waits.
        tray: captures that belong to no inspection.
        open: inspections that are not signed.
        signed: inspections that are.
        rejected: files that could not be taken in.
        deliveries_waiting: signed records that a receiver does not have yet.
        deliveries_dead: those that were given up.
    """

    captures: int
    waiting: int
    oldest_waiting: datetime | None
    tray: int
    open: int
    signed: int
    rejected: int
    deliveries_waiting: int
    deliveries_dead: int

    def queue_age_s(self, now: datetime) -> float:
        """For how long the first of what waits has been waiting, in seconds; 0 when nothing waits."""
        if self.oldest_waiting is None:
            return 0.0
        return max((now - self.oldest_waiting).total_seconds(), 0.0)


def was_read() -> Exists:
    """In a query over captures: a recogniser has been through it, in whatever version."""
    a = t.artefacts.c
    return exists().where((a.owner == t.captures.c.sha256) & a.stage.in_(_FIRST_STAGES))


def figures(database: Database) -> Figures:
    """Count; every query is answered by an index or a small table."""
    c, i, d = t.captures.c, t.inspections.c, t.deliveries.c
    signed = exists().where((i.id == c.inspection) & (i.state == "signed"))
    with database.read() as connection:

        def count(query: object) -> int:
            return int(connection.execute(query).scalar_one())  # type: ignore[call-overload]

        arrivals = connection.execute(select(c.arrived_at).where(~was_read(), ~signed)).scalars().all()
        states = {
            state: n for state, n in connection.execute(select(i.state, func.count()).group_by(i.state))
        }
        going = {state: n for state, n in connection.execute(select(d.state, func.count()).group_by(d.state))}
        return Figures(
            captures=count(select(func.count()).select_from(t.captures)),
            waiting=len(arrivals),
            oldest_waiting=min(arrivals, default=None),
            tray=count(select(func.count()).select_from(t.captures).where(c.inspection.is_(None))),
            open=states.get("open", 0),
            signed=states.get("signed", 0),
            rejected=count(select(func.count()).select_from(t.rejections)),
            deliveries_waiting=going.get("waiting", 0),
            deliveries_dead=going.get("dead", 0),
        )
