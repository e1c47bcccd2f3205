"""Who is at the pages, and the key that a browser keeps to be known again."""

import hashlib
import secrets
from datetime import datetime, timedelta

from fastapi import Request
from fastapi.responses import Response

from models.frozen import Frozen
from models.people import Person
from models.store.people import People

COOKIE = "droplight_session"
LINK_LASTS = timedelta(days=30)
SIGN_IN_LASTS = timedelta(hours=12)
"""One long shift: who goes home without signing out is out by the morning."""


class Visitor(Frozen):
    """Who asks.

    Attributes:
        person: the account; None for the single user of the start-up link.
    """

    person: Person | None = None

    @property
    def may_decide(self) -> bool:
        """Reviewers and the single user decide and sign; technicians look."""
        return self.person is None or self.person.role == "reviewer"


def visitor_of(request: Request) -> Visitor | None:
    """Whoever was let in; None on the page for signing in and on refusals."""
    found: Visitor | None = getattr(request.state, "visitor", None)
    return found


def digest_of(key: str) -> str:
    """What the store keeps of a session's key: its SHA-256. The keys are random, so salt adds nothing."""
    return hashlib.sha256(key.encode()).hexdigest()


def let_in(request: Request, response: Response, people: People, name: str | None, now: datetime) -> None:
    """Open a session with a key of its own and give it to the browser.

    The key is always a new one and the session the browser came with ends: a key that somebody planted in
    the browser beforehand is worth nothing afterwards.

    Args:
        request: what the browser sent.
        response: the answer that carries the key.
        people: where sessions are kept.
        name: the account; None for the start-up link.
        now: the time.
    """
    if old := request.cookies.get(COOKIE):
        people.close_session(digest_of(old))
    people.forget_expired(now)
    lasts = LINK_LASTS if name is None else SIGN_IN_LASTS
    key = secrets.token_urlsafe(32)
    people.open_session(digest_of(key), name, now, now + lasts)
    response.set_cookie(
        COOKIE,
        key,
        max_age=int(lasts.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
        path="/",
    )
