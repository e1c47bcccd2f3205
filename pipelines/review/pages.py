"""The pages that only show: the list, one inspection, the form for one finding."""

from collections.abc import Mapping, Sequence
from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import Response

from models.cautions import cautions
from models.estimate_words import estimate_shown
from models.record import Finding
from pipelines.review import views
from pipelines.review.case import Case, shown
from pipelines.review.choices import choices
from pipelines.review.desk import ADesk, Desk, go_to, page
from pipelines.review.forms import Mistake, filled_from
from pipelines.review.one_finding import FindingView, finding_view
from pipelines.review.pieces import loose_photos
from pipelines.review.scale import Pointer, scales
from pipelines.review.steps import history
from pipelines.review.words import claim_words, limit_key

router = APIRouter(include_in_schema=False)
A_PAGE = 50
ATTENTION = "attention"
"""The order of findings that puts those with a doubt first."""
OF_ONE_FINDING = ("edit", "reject", "arrange")
"""Pages of one finding that the page of its inspection leads to."""

SAID = {
    "confirm": "Confirmed.",
    "correct": "Corrected.",
    "reject": "Rejected.",
    "reopen": "Opened again.",
    "add": "Added.",
    "bulk": "Confirmed all findings without a doubt.",
    "sign": "Signed.",
    "attach": "The photo is attached.",
    "detach": "The photo is taken away; it stays with the truck.",
    "split": "Split: decide about both.",
    "merge": "Merged: decide about it.",
    "restore": "Put back as drafted.",
    "amend": "This is a new draft that amends the signed record: decide about every finding and sign it.",
    "resend": "All of them are tried again.",
    "name": "Name kept.",
    "assign": "Put there. The draft is made again with it.",
}


@router.get("/")
def list_page(request: Request, desk: ADesk, start: Annotated[int, Query(ge=0)] = 0) -> Response:
    """Inspections newest first, captures nobody has assigned, files that could not be taken."""
    lines = views.list_lines(desk.store, start, A_PAGE + 1, desk.rejudge)
    return page(
        request,
        "list.html",
        lines=lines[:A_PAGE],
        newer=max(start - A_PAGE, 0) if start else None,
        older=start + A_PAGE if len(lines) > A_PAGE else None,
        unassigned=desk.store.unassigned(),
        letters=desk.store.deliveries.counts(),
        places=[line for line in lines if line.state != "signed" and not line.amendment],
        rejections=desk.store.rejections()[::-1],
        said=SAID.get(request.query_params.get("said", "")),
    )


@router.get("/inspections/{id}")
def inspection_page(request: Request, desk: ADesk, id: str) -> Response:
    """One inspection with every finding; ``?edit=REF`` and the like lead on to the page of one finding."""
    case = desk.case(id)
    asked = request.query_params
    for name in OF_ONE_FINDING:
        if name in asked:
            return _lead_to(case, name, asked[name], asked.get("order", ""))
    return show_inspection(request, desk, case)


def _lead_to(case: Case, name: str, ref: str, order: str) -> Response:
    finding = case.ending(ref)
    if finding is None:
        raise HTTPException(404, "There is no such finding.")
    address = f"/inspections/{case.row.id}/findings/{finding.id}/{name}"
    return go_to(f"{address}?order={ATTENTION}" if order == ATTENTION else address)


@router.get("/inspections/{id}/findings/{finding}/edit")
def edit_page(request: Request, desk: ADesk, id: str, finding: str) -> Response:
    """The form that corrects one finding."""
    case = desk.case(id)
    current = case.finding(finding)
    if current is None or case.signed:
        raise HTTPException(404, "There is no such finding to correct.")
    return show_form(request, case, current, filled_from(current))


@router.get("/inspections/{id}/findings/{finding}/reject")
def reject_page(request: Request, desk: ADesk, id: str, finding: str) -> Response:
    """The form that rejects one finding, with the reason."""
    case = desk.case(id)
    current = case.finding(finding)
    if current is None or case.signed or not views.is_open(current):
        raise HTTPException(404, "There is no such finding to reject.")
    return show_reject(request, case, current, {})


@router.get("/inspections/{id}/add")
def add_page(request: Request, desk: ADesk, id: str) -> Response:
    """The form that adds a finding by hand."""
    case = desk.case(id)
    if case.record is None or case.signed:
        raise HTTPException(404, "Nothing can be added to this inspection.")
    return show_form(request, case, None, {})


def show_inspection(
    request: Request, desk: Desk, case: Case, status: int = 200, mistakes: Sequence[Mistake] = ()
) -> Response:
    """The page of one inspection, with what went wrong on top when something did."""
    order = ATTENTION if request.query_params.get("order") == ATTENTION else ""
    drawn = scales(case.record.findings if case.record else ())
    limits = views.limits_of(case.record)
    files = desk.store.captures(case.row.id)
    used = {c.sha256 for c in case.record.captures} if case.record else set()
    return page(
        request,
        "inspection.html",
        status,
        case=case,
        unit=views.unit_of(case),
        dates=views.dates_of(case),
        odometer=views.odometer_of(case),
        findings=views.finding_views(case, drawn.pointers, order == ATTENTION),
        axes=drawn.axes,
        limit_list=limits,
        limits={limit_key(limit): n for n, limit in enumerate(limits, 1)},
        order=order,
        amended=views.amended_by(desk.store, case),
        amends=views.amends(case),
        earlier=desk.earlier.of(case),
        tally=views.tally(case.record),
        history=history(case),
        here="" if status == 200 else f"/inspections/{case.row.id}",
        cautions=cautions(case.record),
        estimate=estimate_shown(case.record.estimate) if case.record else None,
        files=files,
        loose=[c for c in files if c.sha256 in set(loose_photos(case.draft, case.record))],
        undrafted=[c for c in files if c.sha256 not in used],
        page_print=views.page_print(case),
        mistakes=mistakes,
        said=SAID.get(request.query_params.get("said", "")),
    )


def show_reject(
    request: Request,
    case: Case,
    finding: Finding,
    fields: Mapping[str, str],
    mistakes: Sequence[Mistake] = (),
) -> Response:
    """The page that asks why one finding does not belong in the record."""
    drawn = scales([finding])
    return page(
        request,
        "reject.html",
        422 if mistakes else 200,
        case=case,
        unit=views.unit_of(case),
        f=one_view(case, finding, drawn.pointers.get(finding.id)),
        axes=drawn.axes,
        claim=claim_words(finding),
        seen=fields.get("seen") or shown(finding),
        fields=fields,
        order=request.query_params.get("order") or fields.get("order", ""),
        mistakes=mistakes,
        wrong={m.field: m.sentence for m in mistakes},
        back=f"/inspections/{case.row.id}",
    )


def one_view(case: Case, finding: Finding, scale: Pointer | None) -> FindingView:
    """One finding of an inspection for a page of its own."""
    captures = {c.sha256: c for c in case.record.captures} if case.record else {}
    ids = [f.id for f in case.record.findings] if case.record else []
    return finding_view(finding, ids.index(finding.id) + 1, captures, scale)


def show_form(
    request: Request,
    case: Case,
    finding: Finding | None,
    fields: Mapping[str, str],
    mistakes: Sequence[Mistake] = (),
) -> Response:
    """The form for one finding, filled as given, with what is wrong on top."""
    drawn = scales([finding] if finding else ())
    return page(
        request,
        "form.html",
        422 if mistakes else 200,
        case=case,
        unit=views.unit_of(case),
        f=one_view(case, finding, drawn.pointers.get(finding.id)) if finding else None,
        axes=drawn.axes,
        claim=claim_words(finding) if finding else "",
        seen=fields.get("seen") or (shown(finding) if finding else ""),
        fields=fields,
        order=request.query_params.get("order") or fields.get("order", ""),
        chosen=set(fields.get("conditions", "").split()),
        choices=choices(),
        mistakes=mistakes,
        wrong={m.field: m.sentence for m in mistakes},
        back=f"/inspections/{case.row.id}",
    )
