"""What a reviewer decides about one finding: each is one form, checked again here, kept as one event.

A form about one finding carries ``seen``, a digest of what stood on the page. When that is no longer what
stands there, nothing is kept and the reviewer gets both values (409). Somebody else's decision about another
finding does not get in the way.
"""

from collections.abc import Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from models.events import EventKind, ReviewEvent
from models.record import Finding
from models.signing import DECIDED
from models.store import SignedError, StaleError
from pipelines.review import views
from pipelines.review.case import Case, shown
from pipelines.review.desk import ADesk, AForm, Desk, error_page, go_to, page, reviewer_of
from pipelines.review.forms import Filled, Mistake, filled_from, read_finding, read_reason
from pipelines.review.pages import ATTENTION, show_form, show_inspection, show_reject
from pipelines.review.steps import history
from pipelines.review.words import anchor, claim_words, reading_words, state_words, unit_words

router = APIRouter(include_in_schema=False)

NO_NAME = Mistake(field="name", sentence="Give your name first, at the top of the page: decisions carry it.")
TRIES = 3
SIGNED = "This inspection is signed and cannot be changed; nothing was kept."
_SHARED: dict[str, EventKind] = {"confirm": "confirm", "reopen": "reopen", "take": "correct"}
"""What the one form of the page of an inspection can do, and the kind of event it makes."""


@router.post("/inspections/{id}/decide")
def decide(request: Request, desk: ADesk, id: str, form: AForm) -> Response:
    """What a button on the page of an inspection says: ``do`` holds what, of which finding, and what it saw.

    One form for all findings keeps the page light: ``confirm REF SEEN words``, ``reopen REF SEEN words`` or
    ``take REF SEEN VALUE UNIT``.
    """
    what, _, rest = form.get("do", "").partition(" ")
    ref, _, rest = rest.partition(" ")
    seen, _, rest = rest.partition(" ")
    kind = _SHARED.get(what)
    if kind is None:
        raise HTTPException(400, "The form cannot be read; nothing was changed.")
    found = desk.case(id).ending(ref)
    fields = {"seen": seen, "saw": rest, "order": form.get("order", "")}
    if what == "take":
        value, _, unit = rest.partition(" ")
        fields |= {"taken": "yes", "value": value, "unit": unit, "saw": "another value"}
    return _decide(request, desk, kind, (id, found.id if found else ref), fields)


@router.post("/inspections/{id}/findings/{finding}/confirm")
def confirm(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """The finding is right as it stands."""
    return _decide(request, desk, "confirm", (id, finding), form)


@router.post("/inspections/{id}/findings/{finding}/reject")
def reject(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """The finding does not belong in the record."""
    return _decide(request, desk, "reject", (id, finding), form)


@router.post("/inspections/{id}/findings/{finding}/reopen")
def reopen(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """Undo every decision about the finding."""
    return _decide(request, desk, "reopen", (id, finding), form)


@router.post("/inspections/{id}/findings/{finding}/correct")
def correct(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """Something about the finding is different."""
    return _decide(request, desk, "correct", (id, finding), form)


@router.post("/inspections/{id}/findings/{finding}/take")
def take(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """The value is one of the others that were heard or seen."""
    return _decide(request, desk, "correct", (id, finding), {**form, "taken": "yes"})


def event_of(
    kind: EventKind,
    case: Case,
    finding: str,
    by: str,
    reason: str | None = None,
    after: Finding | None = None,
) -> ReviewEvent:
    """What is kept of a decision: who, when, why, and a digest of the drafted finding it rests on."""
    return ReviewEvent(
        kind=kind,
        finding=finding,
        by=by,
        at=datetime.now(UTC),
        reason=reason,
        after=after,
        seen=case.drafted_print(finding),
    )


def _decide(
    request: Request, desk: Desk, kind: EventKind, place: tuple[str, str], form: Mapping[str, str]
) -> Response:
    id, finding = place
    for _ in range(TRIES):
        case = desk.case(id)
        current = case.finding(finding)
        if case.signed:
            return error_page(request, 409, SIGNED)
        if current is None or form.get("seen") != shown(current):
            return conflict(request, desk, id, finding, _mine(kind, form))
        by = reviewer_of(request)
        filled = _filled(kind, current, form)
        mistakes = filled.mistakes if by else (NO_NAME, *filled.mistakes)
        if mistakes:
            if kind == "correct" and "taken" not in form:
                return show_form(request, case, current, form, mistakes)
            if kind == "reject" and views.is_open(current):
                return show_reject(request, case, current, form, mistakes)
            return show_inspection(request, desk, case, 422, mistakes)
        event = event_of(kind, case, finding, by, filled.reason or None, filled.finding)
        try:
            desk.store.append_event(id, event, case.row.version)
        except StaleError:
            continue  # perhaps about another finding: look again
        except SignedError:
            return error_page(request, 409, SIGNED)
        return go_to(next_address(desk, id, finding, kind, form.get("order", "")))
    return conflict(request, desk, id, finding, _mine(kind, form))


def _filled(kind: EventKind, current: Finding, form: Mapping[str, str]) -> Filled:
    here = anchor(current.id)
    state = current.review.state if current.review else "proposed"
    if kind == "correct":
        return _taken(current, form) if "taken" in form else read_finding(form, current)
    if kind == "reopen":
        if state not in DECIDED:
            return _wrong(here, "There is no decision about this finding to undo.")
        return Filled()
    if state in DECIDED:
        return _wrong(here, f"This finding is {state_words(state)} already: undo that first.")
    if kind == "confirm":
        if current.component is None:
            return _wrong(here, "Nobody said which part this is about: correct it and choose the part.")
        if current.reading is None and not current.conditions and current.action is None:
            return _wrong(here, "This says nothing yet: correct it and give a value, condition or action.")
        return Filled()
    reason, mistakes = read_reason(form)
    return Filled(reason=reason, mistakes=tuple(mistakes))


def _wrong(field: str, sentence: str) -> Filled:
    return Filled(mistakes=(Mistake(field=field, sentence=sentence),))


def _taken(current: Finding, form: Mapping[str, str]) -> Filled:
    wanted = (form.get("value", ""), form.get("unit", ""))
    offered = [(f"{a.value:f}", a.unit) for a in current.alternatives]
    if wanted not in offered or current.reading is None:
        return _wrong(anchor(current.id), "That is not one of the other values of this finding.")
    reason = f"Another value was heard or seen; it was read as {reading_words(current.reading)}."
    fields = filled_from(current) | {"value": wanted[0], "unit": wanted[1], "reason": reason}
    filled = read_finding(fields, current)
    here = anchor(current.id)
    return filled.model_copy(
        update={"mistakes": tuple(m.model_copy(update={"field": here}) for m in filled.mistakes)}
    )


_VERBS = {
    "confirm": "Confirm",
    "correct": "Correct",
    "reject": "Reject",
    "reopen": "Open again",
    "add": "Add",
}


def _mine(kind: EventKind, form: Mapping[str, str]) -> str:
    saw = form.get("saw", "")[:300]
    if kind != "correct":
        return f"{_VERBS[kind]}: {saw}"
    typed = " ".join(
        [
            *(
                form.get(axis, "")
                for axis in ("side", "axle", "level", "face", "spot", "component", "measure")
            ),
            form.get("value", "")[:40],
            unit_words(form.get("unit", "")),
        ]
    )
    return f"Correct: {saw}, to: {' '.join(typed.replace('_', ' ').split())[:300]}"


def next_address(desk: Desk, id: str, after: str | None, said: str, order: str = "") -> str:
    """The address of the next open finding behind this one, else of the first, else of the signature."""
    record = desk.case(id).record
    attention_first = order == ATTENTION
    findings = views.ordered(record.findings if record else (), attention_first)
    page = f"/inspections/{id}?said={said}" + (f"&order={ATTENTION}" if attention_first else "")
    if said == "reopen" and after and any(f.id == after for f in findings):
        return f"{page}#{anchor(after)}"
    at = next((n for n, f in enumerate(findings) if f.id == after), -1)
    waiting = [f.id for f in (*findings[at + 1 :], *findings[: at + 1]) if views.is_open(f)]
    target = anchor(waiting[0]) if waiting else "sign"
    return f"{page}#{target}"


def conflict(request: Request, desk: Desk, id: str, finding: str | None, mine: str) -> Response:
    """The page that shows both what the reviewer wanted and what stands there now."""
    case = desk.case(id)
    current = case.finding(finding) if finding else None
    steps = [s for s in history(case) if finding in (None, s.finding)]
    return page(
        request,
        "conflict.html",
        409,
        unit=views.unit_of(case),
        address=f"/inspections/{id}" + (f"#{anchor(finding)}" if finding and current else ""),
        mine=mine,
        theirs=claim_words(current) if current else "",
        state=state_words(current.review.state) if current and current.review else "",
        gone=finding is not None and current is None,
        last=steps[-1] if steps else None,
        back=f"/inspections/{id}",
    )
