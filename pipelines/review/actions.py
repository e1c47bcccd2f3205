"""What a reviewer does to a whole inspection: a file put there, a finding added, all signed.

Forms about the whole record carry its version and a digest of what stood on the page; when either is no
longer right, nothing is kept (409). What is decided about one finding: :mod:`pipelines.review.decisions`.
"""

from collections.abc import Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response

from models.events import ReviewEvent
from models.record import Finding
from models.signing import SigningError, sign, undecided, without_part
from models.store import AmendmentError, SignedError, StaleError
from pipelines.review import views
from pipelines.review.case import Case
from pipelines.review.decisions import NO_NAME, SIGNED, TRIES, conflict, event_of, next_address
from pipelines.review.desk import (
    ADesk,
    AForm,
    clean_name,
    error_page,
    go_to,
    has_account,
    own_page,
    remember_reviewer,
    reviewer_of,
)
from pipelines.review.forms import Mistake, read_finding
from pipelines.review.pages import show_form, show_inspection
from pipelines.review.words import anchor, claim_words

router = APIRouter(include_in_schema=False)

AMENDS = (
    "This draft amends a signed record, so no file is put into it: drawing it up again from the file would "
    "lose the findings that it puts right. Add what the file shows by hand. Nothing was changed."
)


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
    except AmendmentError:
        return error_page(request, 409, AMENDS)
    except SignedError:
        return error_page(request, 409, SIGNED)
    return go_to("/?said=assign")


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
        return go_to(f"/inspections/{id}?said=add#{anchor(event.finding)}")
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
            event = event_of("confirm", case, finding.id, by)
            version = desk.store.append_event(id, event, version)
    except StaleError:
        return conflict(request, desk, id, None, mine)
    except SignedError:
        return error_page(request, 409, SIGNED)
    return go_to(next_address(desk, id, None, "bulk", form.get("order", "")))


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
        Mistake(field=anchor(f.id), sentence=f"Decide about finding {numbers[f.id]}: {claim_words(f)}.")
        for f in undecided(record)
    ]
    open_ids = {f.id for f in undecided(record)}
    mistakes += [
        Mistake(field=anchor(f.id), sentence=f"Say which part finding {numbers[f.id]} is about.")
        for f in without_part(record)
        if f.id not in open_ids
    ]
    return tuple(mistakes)


def _still(case: Case, form: Mapping[str, str]) -> bool:
    now = (str(case.row.version), views.page_print(case))
    return (form.get("version"), form.get("seen")) == now
