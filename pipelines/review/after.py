"""What follows a signature: amending a signed record, and records that could not be handed on."""

from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response

from models.frozen import Frozen
from models.store.amending import open_amendment
from models.store.deliveries import State
from pipelines.review import views
from pipelines.review.desk import ADesk, AForm, Desk, error_page, go_to, page
from pipelines.review.pages import SAID
from pipelines.review.words import time_words

router = APIRouter(include_in_schema=False)


MOST_LETTERS = 100


class Letter(Frozen):
    """A record on its way to a receiver: whose, where to, how often tried, when again, what was met."""

    inspection: str
    unit: str
    endpoint: str
    attempts: int
    due: str
    problem: str


def _letters(desk: Desk, state: State) -> list[Letter]:
    found = desk.store.deliveries.all(state)[:MOST_LETTERS]
    return [
        Letter(
            inspection=d.inspection,
            unit=views.unit_of(desk.case(d.inspection)),
            endpoint=d.endpoint,
            attempts=d.attempts,
            due=time_words(datetime.fromtimestamp(d.due, UTC)) if d.attempts else "now",
            problem=d.problem or "not tried yet",
        )
        for d in found
    ]


@router.post("/inspections/{id}/amend")
def amend(request: Request, desk: ADesk, id: str, form: AForm) -> Response:
    """A new draft that puts a signed record right; the signed one stays."""
    try:
        new = open_amendment(desk.store, id)
    except LookupError:
        return error_page(
            request, 409, "Only a signed record is amended: change this one before it is signed."
        )
    return go_to(f"/inspections/{new}?said=amend")


@router.get("/deliveries")
def deliveries_page(request: Request, desk: ADesk) -> Response:
    """Records that were given up or wait, and receivers that want nothing more."""
    counts = desk.store.deliveries.counts()
    return page(
        request,
        "deliveries.html",
        dead=_letters(desk, "dead"),
        waiting=_letters(desk, "waiting"),
        counts=counts,
        most=MOST_LETTERS,
        automatic=desk.automatic,
        closed=desk.store.deliveries.closed(),
        said=SAID.get(request.query_params.get("said", "")),
    )


@router.post("/deliveries/resend")
def resend(request: Request, desk: ADesk, form: AForm) -> Response:
    """Let everything that was given up be tried again by the next sending."""
    desk.store.deliveries.revive()
    return go_to("/deliveries?said=resend")
