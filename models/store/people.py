"""Accounts and sessions. Passwords and session keys are known here by their digests alone."""

from datetime import datetime

from sqlalchemy import delete, func, insert, select

from models.people import Person, Role, Session
from models.store import tables as t
from models.store.connection import Database


class People:
    """Accounts, and the sessions that were opened for them."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def add(self, person: Person, password_hash: str) -> None:
        """Make an account.

        Args:
            person: name, role and time.
            password_hash: digest of the password; empty for an account that cannot sign in.

        Raises:
            ValueError: the name is in use, in whatever case of letters.
        """
        with self._db.write() as connection:
            names = connection.execute(select(t.people.c.name)).scalars().all()
            if person.name.casefold() in {name.casefold() for name in names}:
                raise ValueError(f"there is an account {person.name} already")
            values = {**person.model_dump(), "password_hash": password_hash}
            connection.execute(insert(t.people).values(values))

    def remove(self, name: str) -> bool:
        """Take an account away with all its sessions; False when there is none of that name."""
        with self._db.write() as connection:
            connection.execute(delete(t.sessions).where(t.sessions.c.person == name))
            return connection.execute(delete(t.people).where(t.people.c.name == name)).rowcount > 0

    def all(self) -> list[Person]:
        """Every account, by name."""
        query = select(t.people.c.name, t.people.c.role, t.people.c.added_at).order_by(t.people.c.name)
        with self._db.read() as connection:
            return [Person.model_validate(dict(row)) for row in connection.execute(query).mappings()]

    def needed(self) -> bool:
        """Whether people sign in with accounts: there is a reviewer or a technician."""
        people: tuple[Role, ...] = ("reviewer", "technician")
        query = select(t.people.c.name).where(t.people.c.role.in_(people)).limit(1)
        with self._db.read() as connection:
            return connection.execute(query).first() is not None

    def password_hash(self, name: str) -> str:
        """Digest of a person's password; empty when there is no such account or it cannot sign in."""
        query = select(t.people.c.password_hash).where(t.people.c.name == name)
        with self._db.read() as connection:
            return str(connection.execute(query).scalar() or "")

    def open_session(self, digest: str, person: str | None, at: datetime, until: datetime) -> None:
        """Let somebody in.

        Args:
            digest: SHA-256 of the session's key, hexadecimal; the key itself is kept by the browser alone.
            person: name of the account; None for the start-up link.
            at: now.
            until: when it ends.
        """
        values = {"digest": digest, "person": person, "opened_at": at, "expires_at": until}
        with self._db.write() as connection:
            connection.execute(insert(t.sessions).values(values))

    def session(self, digest: str, now: datetime) -> Session | None:
        """The session of a key's digest, while it lasts."""
        s, p = t.sessions.c, t.people.c
        query = (
            select(s.person, s.opened_at, s.expires_at, p.name, p.role, p.added_at)
            .select_from(t.sessions.outerjoin(t.people, p.name == s.person))
            .where(s.digest == digest)
        )
        with self._db.read() as connection:
            row = connection.execute(query).first()
        if row is None or row.expires_at <= now or (row.person is not None and row.name is None):
            return None
        person = Person(name=row.name, role=row.role, added_at=row.added_at) if row.name else None
        return Session(person=person, opened_at=row.opened_at, expires_at=row.expires_at)

    def close_session(self, digest: str) -> None:
        """Let nobody in with this key any more."""
        with self._db.write() as connection:
            connection.execute(delete(t.sessions).where(t.sessions.c.digest == digest))

    def revoke(self, name: str | None) -> int:
        """Close every session of a person, or those of start-up links (None).

        Returns:
            How many were open.
        """
        s = t.sessions.c
        whose = s.person.is_(None) if name is None else s.person == name
        with self._db.write() as connection:
            count = connection.execute(select(func.count()).select_from(t.sessions).where(whose)).scalar_one()
            connection.execute(delete(t.sessions).where(whose))
        return int(count)

    def forget_expired(self, now: datetime) -> None:
        """Drop the rows of sessions that have ended."""
        with self._db.write() as connection:
            rows = connection.execute(select(t.sessions.c.digest, t.sessions.c.expires_at)).all()
            old = [row.digest for row in rows if row.expires_at <= now]
            if old:
                connection.execute(delete(t.sessions).where(t.sessions.c.digest.in_(old)))
