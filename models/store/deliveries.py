"""HTTP deliveries: which record goes to which receiver, how often it was tried, when it is due again."""

from typing import Literal
from uuid import UUID, uuid5

from sqlalchemy import func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from models.frozen import Frozen
from models.store import tables as t
from models.store.connection import Database

_NAMESPACE = UUID("6f1d2f0a-6a34-5d0e-8a39-1f0a6f9e7c22")

State = Literal["waiting", "sent", "dead"]


class Delivery(Frozen):
    """One signed record on its way to one receiver.

    Attributes:
        id: row number; deliveries of one receiver go out in this order.
        inspection: whose record.
        endpoint: name of the receiver.
        message: a UUID, the same for every attempt, so that the receiver knows a record it has already.
        state: waiting, sent, or dead: given up until a person sends it again.
        attempts: how often it was tried.
        due: Unix time in seconds before which it is not tried again.
        problem: what the last attempt met, in words.
    """

    id: int
    inspection: str
    endpoint: str
    message: str
    state: State
    attempts: int
    due: float
    problem: str


class Deliveries:
    """The rows of deliveries in one database."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def plan(self, endpoint: str) -> int:
        """Add a row for every signed record that this receiver has none of yet; returns how many.

        The outbox row, written in the signing transaction, is what a row is made from: a crash between the
        two loses nothing.
        """
        build = postgresql.insert if self._db.dialect == "postgresql" else sqlite.insert
        d, o = t.deliveries.c, t.outbox.c
        there = select(d.inspection).where(d.endpoint == endpoint)
        with self._db.write() as connection:
            new = connection.execute(select(o.inspection).where(o.inspection.not_in(there)).order_by(o.id))
            added = 0
            for inspection in new.scalars().all():
                values = {"inspection": inspection, "endpoint": endpoint, "state": "waiting", "attempts": 0}
                message = str(uuid5(_NAMESPACE, f"{inspection}|{endpoint}"))
                values |= {"message": message, "due": 0.0, "problem": ""}
                statement = build(t.deliveries).values(values).on_conflict_do_nothing()
                added += connection.execute(statement.returning(d.id)).first() is not None
        return added

    def claim(self, endpoint: str, now: float, until: float) -> Delivery | None:
        """The next delivery that is due, kept from others until ``until``; None when there is none.

        Args:
            endpoint: name of the receiver.
            now: Unix time in seconds.
            until: it counts as due again then, should this process die before it notes how it went.
        """
        d = t.deliveries.c
        query = select(t.deliveries).where((d.endpoint == endpoint) & (d.state == "waiting") & (d.due <= now))
        with self._db.write() as connection:
            locked = query.order_by(d.id).limit(1).with_for_update(skip_locked=True)
            row = connection.execute(locked).mappings().first()
            if row is None:
                return None
            change = {"due": until, "attempts": row["attempts"] + 1}
            connection.execute(update(t.deliveries).where(d.id == row["id"]).values(change))
        return Delivery.model_validate({**row, **change})

    def note(self, id: int, state: State, due: float = 0.0, problem: str = "") -> None:
        """How an attempt went. What was sent stays sent."""
        d = t.deliveries.c
        values = {"state": state, "due": due, "problem": problem}
        with self._db.write() as connection:
            connection.execute(update(t.deliveries).where((d.id == id) & (d.state != "sent")).values(values))

    def all(self, state: State | None = None) -> list[Delivery]:
        """Every delivery, or those in one state, in order."""
        query = select(t.deliveries).order_by(t.deliveries.c.id)
        if state is not None:
            query = query.where(t.deliveries.c.state == state)
        with self._db.read() as connection:
            return [Delivery.model_validate(dict(row)) for row in connection.execute(query).mappings()]

    def next_due(self, endpoint: str) -> float | None:
        """When the earliest waiting delivery of a receiver is due (Unix seconds); None when none waits."""
        d = t.deliveries.c
        query = select(func.min(d.due)).where((d.endpoint == endpoint) & (d.state == "waiting"))
        with self._db.read() as connection:
            return connection.execute(query).scalar()

    def revive(self) -> int:
        """Put every dead delivery back to waiting and open closed receivers again; returns how many."""
        d = t.deliveries.c
        fresh = {"state": "waiting", "due": 0.0, "attempts": 0}
        with self._db.write() as connection:
            connection.execute(t.closed_endpoints.delete())
            return connection.execute(update(t.deliveries).where(d.state == "dead").values(fresh)).rowcount

    def close(self, endpoint: str, why: str) -> None:
        """Note that a receiver wants nothing more; what waits for it is given up until it is sent again."""
        d = t.deliveries.c
        waiting = (d.endpoint == endpoint) & (d.state == "waiting")
        with self._db.write() as connection:
            c = t.closed_endpoints.c
            if connection.execute(select(c.endpoint).where(c.endpoint == endpoint)).first() is None:
                connection.execute(insert(t.closed_endpoints).values(endpoint=endpoint, why=why))
            given_up = {"state": "dead", "problem": why}
            connection.execute(update(t.deliveries).where(waiting).values(given_up))

    def closed(self) -> dict[str, str]:
        """Receivers that want nothing more, and why."""
        c = t.closed_endpoints.c
        with self._db.read() as connection:
            rows = connection.execute(select(c.endpoint, c.why)).all()
        return {endpoint: why for endpoint, why in rows}
