"""Signing in and out, with a limit on how often somebody may be wrong."""

from collections import deque
from collections.abc import Callable
from datetime import UTC, datetime
from threading import Lock
from time import monotonic

from fastapi import APIRouter, Request
from fastapi.responses import Response

from pipelines.review.desk import ADesk, AForm, clean_name, error_page, go_to, own_page, page
from pipelines.review.forms import Mistake
from pipelines.review.passwords import matches
from pipelines.review.visitor import COOKIE, digest_of, let_in, visitor_of

router = APIRouter(include_in_schema=False)

WINDOW_S = 15 * 60.0
MOST_FOR_A_NAME_FROM_ONE_PLACE = 5
MOST_FROM_ONE_PLACE = 20
MOST_FOR_A_NAME = 50
"""From all places together: much higher, so that a stranger cannot lock a reviewer out with five requests."""
_MOST_REMEMBERED = 10_000


class Attempts:
    """Counts failed sign-ins of the last quarter of an hour, in memory."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._lock = Lock()
        self._failed: dict[tuple[str, str], deque[float]] = {}

    def _limits(self, place: str, name: str) -> tuple[tuple[tuple[str, str], int], ...]:
        name = name.casefold()
        return (
            ((place, name), MOST_FOR_A_NAME_FROM_ONE_PLACE),
            ((place, ""), MOST_FROM_ONE_PLACE),
            (("", name), MOST_FOR_A_NAME),
        )

    def wait_s(self, place: str, name: str) -> float:
        """How long until this may be tried again (seconds); 0 for now."""
        now = self._clock()
        with self._lock:
            waits = [0.0]
            for key, most in self._limits(place, name):
                times = self._failed.get(key, deque())
                while times and times[0] <= now - WINDOW_S:
                    times.popleft()
                if len(times) >= most:
                    waits.append(times[-most] + WINDOW_S - now)
            return max(waits)

    def failed(self, place: str, name: str) -> None:
        """Count one."""
        now = self._clock()
        with self._lock:
            for key, _ in self._limits(place, name):
                self._failed.setdefault(key, deque(maxlen=MOST_FOR_A_NAME)).append(now)
            if len(self._failed) > _MOST_REMEMBERED:
                self._failed = {k: t for k, t in self._failed.items() if t[-1] > now - WINDOW_S}

    def succeeded(self, place: str, name: str) -> None:
        """Forget the failures of a name from a place."""
        with self._lock:
            self._failed.pop((place, name.casefold()), None)


@router.get("/login")
def login_page(request: Request, desk: ADesk) -> Response:
    """The page for signing in."""
    if visitor_of(request) is not None or not desk.store.people.needed():
        return go_to("/")
    return page(request, "login.html", back=own_page(request.query_params.get("back", "/")))


@router.post("/login")
def sign_in(request: Request, desk: ADesk, form: AForm) -> Response:
    """Check name and password; every failure gets the same answer."""
    people = desk.store.people
    if not people.needed():
        return error_page(request, 403, "There are no accounts to sign in with.")
    name, back = clean_name(form.get("name", "")), own_page(form.get("back", "/"))
    place = request.client.host if request.client else ""
    attempts: Attempts = request.app.state.attempts
    if (wait := attempts.wait_s(place, name)) > 0:
        minutes = int(wait // 60) + 1
        sentence = f"Too many failed attempts. Try again in {minutes} minute{'s' if minutes > 1 else ''}."
        answer = _again(request, 429, name, back, sentence)
        answer.headers["retry-after"] = str(int(wait) + 1)
        return answer
    known = next((p.name for p in people.all() if p.name.casefold() == name.casefold()), name)
    if not matches(people.password_hash(known), form.get("password", "")):
        attempts.failed(place, name)
        return _again(request, 401, name, back, "Name and password do not belong together. Try again.")
    attempts.succeeded(place, name)
    response = go_to(back)
    let_in(request, response, people, known, datetime.now(UTC))
    return response


def _again(request: Request, status: int, name: str, back: str, sentence: str) -> Response:
    mistakes = (Mistake(field="account", sentence=sentence),)
    return page(request, "login.html", status, typed=name, back=back, mistakes=mistakes)


@router.post("/logout")
def sign_out(request: Request, desk: ADesk, form: AForm) -> Response:
    """End this browser's session."""
    if key := request.cookies.get(COOKIE):
        desk.store.people.close_session(digest_of(key))
    response = go_to("/login")
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="lax")
    return response
