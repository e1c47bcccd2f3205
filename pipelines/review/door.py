"""Who is let in: the start-up link of a single user, or people with accounts.

As long as there is no account, the link that is printed at the start opens the pages: it carries a random
key, so that another user or program of this computer cannot walk in. As soon as there is an account,
everybody signs in and the link is worth nothing. Which of the two holds is asked anew with every request.
"""

import hmac
from datetime import UTC, datetime
from urllib.parse import quote, urlencode

from fastapi import Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from models.people import Session
from models.store.people import People
from pipelines.review import api
from pipelines.review.desk import error_page
from pipelines.review.guard import UPLOADS
from pipelines.review.visitor import COOKIE, Visitor, digest_of, let_in

LOGIN = "/login"
_PUBLIC = frozenset({"/favicon.ico", "/health", "/health/live", "/static/review.css", "/static/review.js"})
_EVERYBODY_MAY_POST = frozenset({"/logout", UPLOADS})
_SAFE = frozenset({"GET", "HEAD"})

NO_LINK = (
    "These pages open with the link that was printed where they were started (by droplight review): it ends "
    "in ?key= and a row of letters. Open that link once in this browser."
)
NOT_SIGNED_IN = "Sign in first."
ONLY_LOOKING = "A technician looks; a reviewer decides and signs. Nothing was changed."
ONLY_RECORDS = "This account reads signed records under /api/ and nothing else."


class Door:
    """The middleware that knows who asks; behind it every request has a :class:`Visitor`."""

    def __init__(self, app: ASGIApp, people: People, key: str | None) -> None:
        """Stand before an application.

        Args:
            app: what lies behind.
            people: accounts and sessions.
            key: of the start-up link; None when only accounts open the pages.
        """
        self._app = app
        self._people = people
        self._key = key

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request pass, or answer it."""
        if scope["type"] == "http" and scope["path"] not in _PUBLIC:
            request = Request(scope)
            answer = await run_in_threadpool(self._answer, request)
            if answer is not None:
                await answer(scope, receive, send)
                return
        await self._app(scope, receive, send)

    def _answer(self, request: Request) -> Response | None:
        """None to let it pass."""
        now = datetime.now(UTC)
        session = self._session(request, now)
        if not self._people.needed():
            return self._by_link(request, session, now)
        if session is None or session.person is None:
            return self._to_login(request)
        visitor = Visitor(person=session.person)
        request.state.visitor = visitor
        return _not_for(visitor, request)

    def _session(self, request: Request, now: datetime) -> Session | None:
        scheme, _, token = request.headers.get("authorization", "").partition(" ")
        key = token.strip() if scheme.casefold() == "bearer" else request.cookies.get(COOKIE, "")
        return self._people.session(digest_of(key), now) if key else None

    def _by_link(self, request: Request, session: Session | None, now: datetime) -> Response | None:
        given = request.query_params.get("key", "")
        if self._key and request.method in _SAFE and hmac.compare_digest(given.encode(), self._key.encode()):
            response = RedirectResponse(_without_key(request), status_code=303)
            let_in(request, response, self._people, None, now)
            return response
        if session is not None and (session.person is None or session.person.role == "system"):
            visitor = Visitor(person=session.person)
            request.state.visitor = visitor
            return _not_for(visitor, request)
        return _refused(request, 403, NO_LINK)

    def _to_login(self, request: Request) -> Response | None:
        if request.url.path == LOGIN:
            return None
        if _for_programs(request):
            return _refused(request, 401, NOT_SIGNED_IN)
        back = request.url.path if request.method in _SAFE else "/"
        return RedirectResponse(f"{LOGIN}?back={quote(back, safe='/')}", status_code=303)


def _without_key(request: Request) -> str:
    rest = [(name, value) for name, value in request.query_params.multi_items() if name != "key"]
    path = "/" + quote(request.url.path.lstrip("/\\"))
    return f"{path}?{urlencode(rest)}" if rest else path


def _for_programs(request: Request) -> bool:
    return request.url.path.startswith("/api/")


def _not_for(visitor: Visitor, request: Request) -> Response | None:
    person = visitor.person
    if person is not None and person.role == "system":
        readable = _for_programs(request) and request.method in _SAFE
        return None if readable else _refused(request, 403, ONLY_RECORDS)
    changes = request.method not in {*_SAFE, "OPTIONS"}
    if changes and not visitor.may_decide and request.url.path not in _EVERYBODY_MAY_POST:
        return _refused(request, 403, ONLY_LOOKING)
    return None


def _refused(request: Request, status: int, sentence: str) -> Response:
    if _for_programs(request):
        answer: Response = api.problem(status, sentence)
        if status == 401:
            answer.headers["www-authenticate"] = "Bearer"
        return answer
    return error_page(request, status, sentence)
