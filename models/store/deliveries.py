"""HTTP deliveries: which record goes to which receiver, how often it was tried, when it is due again."""

import json
from typing import Literal
from uuid import UUID, uuid5

from sqlalchemy import Connection, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from models.frozen import Frozen
from models.record import Record
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


class Turn(Frozen):
    """A sender's turn at a receiver.

    Attributes:
        holder: name of the sender, another one for each program.
        due_by: Unix time in seconds: what is due until then is asked for.
        now: Unix time in seconds.
        until: the turn, and the claim of a delivery, ends then should the program die.
    """

    holder: str
    due_by: float
    now: float
    until: float


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
        new = select(o.inspection).where(o.inspection.not_in(there)).order_by(o.id)
        with self._db.read() as connection:
            if connection.execute(new.limit(1)).first() is None:
                return 0  # asked every few seconds: nobody else is kept waiting for it
        with self._db.write() as connection:
            added = 0
            for inspection in connection.execute(new).scalars().all():
                values = {"inspection": inspection, "endpoint": endpoint, "state": "waiting", "attempts": 0}
                message = str(uuid5(_NAMESPACE, f"{inspection}|{endpoint}"))
                values |= {"message": message, "due": 0.0, "problem": ""}
                statement = build(t.deliveries).values(values).on_conflict_do_nothing()
                added += connection.execute(statement.returning(d.id)).first() is not None
        return added

    def claim(self, endpoint: str, turn: Turn) -> Delivery | None:
        """The next delivery that is due, kept from others for a while.

        Nobody else can claim a delivery of the same receiver meanwhile.

        Args:
            endpoint: name of the receiver.
            turn: who asks, when, and for how long.

        Returns:
            None when nothing is due, or when somebody else is sending to this receiver.
        """
        d = t.deliveries.c
        due = (d.endpoint == endpoint) & (d.state == "waiting") & (d.due <= turn.due_by)
        query = select(t.deliveries).where(due).order_by(d.id).limit(1)
        with self._db.read() as connection:
            if connection.execute(query).first() is None:
                return None
        with self._db.write() as connection:
            if not self._take_turn(connection, endpoint, turn):
                return None
            row = connection.execute(query.with_for_update(skip_locked=True)).mappings().first()
            if row is None:
                return None
            change = {"due": turn.until, "attempts": row["attempts"] + 1}
            connection.execute(update(t.deliveries).where(d.id == row["id"]).values(change))
        return Delivery.model_validate({**row, **change})

    def _take_turn(self, connection: Connection, endpoint: str, turn: Turn) -> bool:
        s = t.senders.c
        build = postgresql.insert if self._db.dialect == "postgresql" else sqlite.insert
        nobody = {"endpoint": endpoint, "holder": "", "until": 0.0}
        connection.execute(build(t.senders).values(nobody).on_conflict_do_nothing())
        held = connection.execute(
            select(s.holder, s.until).where(s.endpoint == endpoint).with_for_update()
        ).one()
        if held.holder != turn.holder and held.until > turn.now:
            return False
        mine = {"holder": turn.holder, "until": turn.until}
        connection.execute(update(t.senders).where(s.endpoint == endpoint).values(mine))
        return True

    def release(self, endpoint: str, holder: str) -> None:
        """Let others send to this receiver again."""
        s = t.senders.c
        mine = (s.endpoint == endpoint) & (s.holder == holder)
        with self._db.write() as connection:
            connection.execute(update(t.senders).where(mine).values(until=0.0))

    def sender(self, endpoint: str, now: float) -> str | None:
        """Who is sending to a receiver just now; None for nobody."""
        s = t.senders.c
        query = select(s.holder).where((s.endpoint == endpoint) & (s.until > now))
        with self._db.read() as connection:
            return connection.execute(query).scalar()

    def note(self, delivery: Delivery, state: State, due: float = 0.0, problem: str = "") -> bool:
        """How an attempt went. What was sent stays sent.

        Args:
            delivery: as it was claimed. An attempt that took so long that another was begun can still say
                that the record was sent, and nothing else.
            state: what the delivery is now.
            due: Unix time in seconds before which it is not tried again.
            problem: what the attempt met, in words.

        Returns:
            False when a later attempt stands in its place.
        """
        d = t.deliveries.c
        here = (d.id == delivery.id) & (d.state != "sent")
        if state != "sent":
            here &= (d.attempts == delivery.attempts) & (d.state == "waiting")
        values = {"state": state, "due": due, "problem": problem}
        with self._db.write() as connection:
            return connection.execute(update(t.deliveries).where(here).values(values)).rowcount > 0

    def all(self, state: State | None = None) -> list[Delivery]:
        """Every delivery, or those in one state, in order."""
        query = select(t.deliveries).order_by(t.deliveries.c.id)
        if state is not None:
            query = query.where(t.deliveries.c.state == state)
        with self._db.read() as connection:
            return [Delivery.model_validate(dict(row)) for row in connection.execute(query).mappings()]

    def signed_after(self, cursor: int, limit: int) -> list[tuple[int, Record]]:
        """Signed records in the order signed, each with its cursor.

        Args:
            cursor: of the last one that is known already; 0 for none.
            limit: how many at most.
        """
        s, o = t.signed_records.c, t.outbox.c
        query = select(o.id, s.record).join(t.outbox, o.inspection == s.inspection).where(o.id > cursor)
        with self._db.read() as connection:
            rows = connection.execute(query.order_by(o.id).limit(limit)).all()
        return [(id, Record.from_json(json.loads(text))) for id, text in rows]

    def counts(self) -> dict[State, int]:
        """How many deliveries there are in each state."""
        d = t.deliveries.c
        with self._db.read() as connection:
            rows = connection.execute(select(d.state, func.count()).group_by(d.state)).all()
        found: dict[str, int] = {state: count for state, count in rows}
        return {
            "waiting": found.get("waiting", 0),
            "sent": found.get("sent", 0),
            "dead": found.get("dead", 0),
        }

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
