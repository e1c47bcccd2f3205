"""What follows a signature: amending a signed record, and records that could not be handed on."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from models.frozen import Frozen
from models.store.amending import open_amendment
from pipelines.review import views
from pipelines.review.desk import ADesk, AForm, error_page, go_to, page
from pipelines.review.pages import SAID

router = APIRouter(include_in_schema=False)


class Letter(Frozen):
    """A record that a receiver did not take: whose, where to, how often tried, why it was given up."""

    inspection: str
    unit: str
    endpoint: str
    attempts: int
    problem: str


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
    """Records that were given up, and receivers that want nothing more."""
    letters = [
        Letter(
            inspection=d.inspection,
            unit=views.unit_of(desk.case(d.inspection)),
            endpoint=d.endpoint,
            attempts=d.attempts,
            problem=d.problem,
        )
        for d in desk.store.deliveries.all("dead")
    ]
    return page(
        request,
        "deliveries.html",
        letters=letters,
        waiting=len(desk.store.deliveries.all("waiting")),
        closed=desk.store.deliveries.closed(),
        said=SAID.get(request.query_params.get("said", "")),
    )


@router.post("/deliveries/resend")
def resend(request: Request, desk: ADesk, form: AForm) -> Response:
    """Let everything that was given up be tried again by the next sending."""
    desk.store.deliveries.revive()
    return go_to("/deliveries?said=resend")
