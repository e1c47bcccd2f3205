"""What the store hands out and how it says no."""

from datetime import datetime

from models.frozen import Frozen


class InspectionRow(Frozen):
    """An inspection that captures are grouped under.

    Attributes:
        id: UUID.
        unit: what the shop calls the truck; None until known.
        folder: sub-folder of the inbox its captures lie in; empty when none.
        started_at: time of its first capture.
        ended_at: time of its last capture.
        state: open, or signed and frozen.
        version: grows by one with each review event and each change of a draft that was there before; a
            decision names the version it was made on, so nobody confirms a value that was not on the page.
    """

    id: str
    unit: str | None
    folder: str
    started_at: datetime
    ended_at: datetime
    state: str
    version: int


class StoreError(Exception):
    """The database cannot be used; the message says which, why, and what to do."""


class StaleError(Exception):
    """Somebody else decided in the meantime: look at the newer state and decide again."""


class SignedError(Exception):
    """This inspection is signed and cannot be changed."""


class AmendmentError(SignedError):
    """This inspection amends a signed one: no file is put into it."""
