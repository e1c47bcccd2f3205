"""Who may open the pages, and what for."""

from typing import Literal

from pydantic import AwareDatetime

from models.frozen import Frozen

Role = Literal["reviewer", "technician", "system"]
"""A reviewer decides and signs, a technician looks, a system (another program) reads signed records."""

ROLES: tuple[Role, ...] = ("reviewer", "technician", "system")


class Person(Frozen):
    """An account.

    Attributes:
        name: what decisions and signatures carry.
        role: what it may do.
        added_at: when the account was made.
    """

    name: str
    role: Role
    added_at: AwareDatetime


class Session(Frozen):
    """A browser (or another program) that was let in.

    Attributes:
        person: whose it is; None for the start-up link of a single user.
        opened_at: when.
        expires_at: it lets nobody in from this time on.
    """

    person: Person | None
    opened_at: AwareDatetime
    expires_at: AwareDatetime
