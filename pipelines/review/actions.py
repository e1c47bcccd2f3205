"""What a reviewer does: each action is one form, checked again here, kept as one event.

A form about one finding carries ``seen``, a digest of what stood on the page. When that is no longer what
stands there, nothing is kept and the reviewer gets both values (409). Somebody else's decision about another
finding does not get in the way. Forms about the whole record carry its version and digest.
"""

from collections.abc import Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response

from models.events import EventKind, ReviewEvent
from models.record import Finding
from models.signing import DECIDED, SigningError, sign, undecided, without_part
from models.store import SignedError, StaleError
from pipelines.review import views
from pipelines.review.case import Case, shown
from pipelines.review.desk import (
    ADesk,
    AForm,
    Desk,
    clean_name,
    error_page,
    go_to,
    has_account,
    own_page,
    page,
    remember_reviewer,
    reviewer_of,
)
from pipelines.review.forms import Filled, Mistake, filled_from, read_finding, read_reason
from pipelines.review.pages import ATTENTION, show_form, show_inspection
from pipelines.review.steps import history
from pipelines.review.words import claim_words, reading_words, state_words, trimmed, unit_words

router = APIRouter(include_in_schema=False)

NO_NAME = Mistake(field="name", sentence="Give your name first, at the top of the page: decisions carry it.")
TRIES = 3
SIGNED = "This inspection is signed and cannot be changed; nothing was kept."


@router.post("/name")
def keep_name(request: Request, form: AForm) -> Response:
    """Keep the reviewer's name on this browser."""
    if has_account(request):
        return error_page(request, 403, "You are signed in: decisions carry the name of your account.")
    response = go_to(f"{own_page(form.get('back', '/'))}?said=name")
    remember_reviewer(response, clean_name(form.get("name", "")))
    return response


@router.post("/captures/{sha256}/assign")
def assign(request: Request, desk: ADesk, sha256: str, form: AForm) -> Response:
    """Put a capture that nobody assigned into an inspection."""
    target = desk.store.inspection(form.get("inspection", ""))
    if target is None or not any(c.sha256 == sha256 for c in desk.store.unassigned()):
        return error_page(request, 409, "That file or that inspection is no longer on the list.")
    try:
        desk.store.assign(sha256, target.id)
        if desk.redraft is not None:
            desk.redraft(target.id)
    except SignedError:
        return error_page(request, 409, SIGNED)
    return go_to("/?said=assign")


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


@router.post("/inspections/{id}/add")
def add(request: Request, desk: ADesk, id: str, form: AForm) -> Response:
    """A finding that neither sound nor photo brought."""
    case = desk.case(id)
    if case.record is None or case.signed:
        return error_page(request, 409, SIGNED)
    by = reviewer_of(request)
    filled = read_finding(form, None)
    mistakes = filled.mistakes if by else (NO_NAME, *filled.mistakes)
    if filled.finding is None or mistakes:
        return show_form(request, case, None, form, mistakes)
    event = ReviewEvent(
        kind="add",
        finding=filled.finding.id,
        by=by,
        at=datetime.now(UTC),
        reason=filled.reason,
        after=filled.finding,
    )
    for _ in range(TRIES):
        try:
            desk.store.append_event(id, event, desk.case(id).row.version)
        except StaleError:
            continue
        except SignedError:
            return error_page(request, 409, SIGNED)
        return go_to(f"/inspections/{id}?said=add#finding-{event.finding}")
    return conflict(request, desk, id, None, "Add a finding")


@router.post("/inspections/{id}/confirm-plain")
def confirm_plain(request: Request, desk: ADesk, id: str, form: AForm) -> Response:
    """Confirm every open finding that carries no doubt; those with one are looked at one by one."""
    case = desk.case(id)
    if case.record is None or case.signed:
        return error_page(request, 409, SIGNED)
    by = reviewer_of(request)
    if not by:
        return show_inspection(request, desk, case, 422, (NO_NAME,))
    mine = "Confirm all findings without a doubt"
    if not _still(case, form):
        return conflict(request, desk, id, None, mine)
    version = case.row.version
    try:
        for finding in filter(views.is_plain, case.record.findings):
            event = _event("confirm", case, finding.id, by)
            version = desk.store.append_event(id, event, version)
    except StaleError:
        return conflict(request, desk, id, None, mine)
    except SignedError:
        return error_page(request, 409, SIGNED)
    return go_to(_next(desk, id, None, "bulk", form.get("order", "")))


@router.post("/inspections/{id}/sign")
def sign_record(request: Request, desk: ADesk, id: str, form: AForm) -> Response:
    """Freeze the record under a name."""
    case = desk.case(id)
    if case.record is None or case.signed:
        return error_page(request, 409, SIGNED)
    if not _still(case, form):
        return conflict(request, desk, id, None, "Sign the record")
    by = reviewer_of(request) if has_account(request) else clean_name(form.get("by", ""))
    mistakes = _why_not_signed(case.record.findings, case, by)
    if mistakes:
        return show_inspection(request, desk, case, 422, mistakes)
    try:
        signed = sign(case.record, by, datetime.now(UTC))
        desk.store.sign(id, signed, case.row.version)
    except SigningError as error:
        return show_inspection(request, desk, case, 422, (Mistake(field="by", sentence=str(error)),))
    except StaleError:
        return conflict(request, desk, id, None, "Sign the record")
    except SignedError:
        return error_page(request, 409, SIGNED)
    response = go_to(f"/inspections/{id}?said=sign")
    if not has_account(request):
        remember_reviewer(response, by)
    return response


def _why_not_signed(findings: tuple[Finding, ...], case: Case, by: str) -> tuple[Mistake, ...]:
    record = case.record
    if record is None:
        return ()
    numbers = {f.id: n for n, f in enumerate(findings, 1)}
    mistakes = [] if by else [Mistake(field="by", sentence="Write the name that signs.")]
    mistakes += [
        Mistake(field=f"finding-{f.id}", sentence=f"Decide about finding {numbers[f.id]}: {claim_words(f)}.")
        for f in undecided(record)
    ]
    open_ids = {f.id for f in undecided(record)}
    mistakes += [
        Mistake(field=f"finding-{f.id}", sentence=f"Say which part finding {numbers[f.id]} is about.")
        for f in without_part(record)
        if f.id not in open_ids
    ]
    return tuple(mistakes)


def _still(case: Case, form: Mapping[str, str]) -> bool:
    now = (str(case.row.version), views.page_print(case))
    return (form.get("version"), form.get("seen")) == now


def _event(
    kind: EventKind,
    case: Case,
    finding: str,
    by: str,
    reason: str | None = None,
    after: Finding | None = None,
) -> ReviewEvent:
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
            return show_inspection(request, desk, case, 422, mistakes)
        event = _event(kind, case, finding, by, filled.reason or None, filled.finding)
        try:
            desk.store.append_event(id, event, case.row.version)
        except StaleError:
            continue  # perhaps about another finding: look again
        except SignedError:
            return error_page(request, 409, SIGNED)
        return go_to(_next(desk, id, finding, kind, form.get("order", "")))
    return conflict(request, desk, id, finding, _mine(kind, form))


def _filled(kind: EventKind, current: Finding, form: Mapping[str, str]) -> Filled:
    here = f"finding-{current.id}"
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
    # The page holds one reason field for each finding.
    renamed = tuple(m.model_copy(update={"field": f"reason-{current.id}"}) for m in mistakes)
    return Filled(reason=reason, mistakes=renamed)


def _wrong(field: str, sentence: str) -> Filled:
    return Filled(mistakes=(Mistake(field=field, sentence=sentence),))


def _taken(current: Finding, form: Mapping[str, str]) -> Filled:
    wanted = (form.get("value", ""), form.get("unit", ""))
    offered = [(f"{trimmed(a.value):f}", a.unit) for a in current.alternatives]
    if wanted not in offered or current.reading is None:
        return _wrong(f"finding-{current.id}", "That is not one of the other values of this finding.")
    reason = f"Another value was heard or seen; it was read as {reading_words(current.reading)}."
    fields = filled_from(current) | {"value": wanted[0], "unit": wanted[1], "reason": reason}
    filled = read_finding(fields, current)
    here = f"finding-{current.id}"
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


def _next(desk: Desk, id: str, after: str | None, said: str, order: str = "") -> str:
    """The address of the next open finding behind this one, else of the first, else of the signature."""
    record = desk.case(id).record
    attention_first = order == ATTENTION
    findings = views.ordered(record.findings if record else (), attention_first)
    page = f"/inspections/{id}?said={said}" + (f"&order={ATTENTION}" if attention_first else "")
    if said == "reopen" and any(f.id == after for f in findings):
        return f"{page}#finding-{after}"
    at = next((n for n, f in enumerate(findings) if f.id == after), -1)
    waiting = [f.id for f in (*findings[at + 1 :], *findings[: at + 1]) if views.is_open(f)]
    target = f"finding-{waiting[0]}" if waiting else "sign"
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
        address=f"/inspections/{id}" + (f"#finding-{finding}" if current else ""),
        mine=mine,
        theirs=claim_words(current) if current else "",
        state=state_words(current.review.state) if current and current.review else "",
        gone=finding is not None and current is None,
        last=steps[-1] if steps else None,
        back=f"/inspections/{id}",
    )
