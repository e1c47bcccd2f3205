"""The page that changes what a finding rests on, and its forms: photos, splitting, merging."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from models.events import ReviewEvent
from models.record import Finding
from models.signing import DECIDED
from models.store import SignedError, StaleError
from pipelines.review import pieces, views
from pipelines.review.case import Case, shown
from pipelines.review.decisions import NO_NAME, SIGNED, TRIES, conflict
from pipelines.review.desk import ADesk, AForm, Desk, error_page, go_to, page, reviewer_of
from pipelines.review.forms import Mistake
from pipelines.review.pages import one_view
from pipelines.review.scale import scales
from pipelines.review.words import anchor, claim_words, value_words

router = APIRouter(include_in_schema=False)
AT = "/inspections/{id}/findings/{finding}"

_Change = Callable[[Case, Finding, str], "ReviewEvent | str"]
"""Makes the event of a form, or says in a sentence what is wrong with it."""


@router.get(AT + "/arrange")
def arrange_page(request: Request, desk: ADesk, id: str, finding: str) -> Response:
    """The page for one finding."""
    case = desk.case(id)
    current = case.finding(finding)
    if current is None or case.signed:
        raise HTTPException(404, "There is no such finding to change.")
    return _show(request, case, current)


@router.post(AT + "/attach")
def attach(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """One more photo."""

    def change(case: Case, current: Finding, by: str) -> ReviewEvent | str:
        photo = pieces.photo_evidence(case.record, case.draft, form.get("photo", ""))
        if photo is None:
            return "Choose a photo of this truck."
        if photo.capture in {e.capture for e in current.evidence}:
            return "The finding rests on this photo already."
        return _event("attach", case, current, by, after=pieces.with_photo(current, photo))

    return _do(request, desk, (id, finding), form, change)


@router.post(AT + "/detach")
def detach(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """One photo less; the photo stays with the truck."""

    def change(case: Case, current: Finding, by: str) -> ReviewEvent | str:
        chosen = _numbers(form.get("piece", ""), len(current.evidence))
        if len(chosen) != 1 or current.evidence[min(chosen)].kind != "photo":
            return "Choose a photo of this finding."
        return _event("detach", case, current, by, after=pieces.without_piece(current, min(chosen)))

    return _do(request, desk, (id, finding), form, change)


@router.post(AT + "/split")
def split(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """Two findings of one."""

    def change(case: Case, current: Finding, by: str) -> ReviewEvent | str:
        chosen = _numbers(form.get("pieces", ""), len(current.evidence))
        value = form.get("value", "")
        others = {str(at) for at in range(len(current.alternatives))}
        if current.evidence and not chosen:
            return "Tick what goes with the new finding."
        if value not in {"same", "none"} | others:
            return "Choose what the new finding reads."
        rest, new = pieces.split(current, chosen, value)
        return _event("split", case, current, by, after=rest).model_copy(update={"split_off": new})

    return _do(request, desk, (id, finding), form, change)


@router.post(AT + "/merge")
def merge(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """One finding of two."""

    def change(case: Case, current: Finding, by: str) -> ReviewEvent | str:
        wanted, _, seen = form.get("other", "").partition(" ")
        other = case.finding(wanted)
        if other is None or wanted == current.id:
            return "Choose another finding of this truck."
        if _decided(other):
            return "The other finding is decided: undo that first."
        if seen != shown(other):
            return "The other finding changed in the meantime: look at it again."
        event = _event("merge", case, current, by, after=pieces.merge(current, other))
        basis = case.drafted_print(other.id)
        return event.model_copy(update={"taken_in": other.id, "taken_in_seen": basis})

    return _do(request, desk, (id, finding), form, change)


@router.post(AT + "/restore")
def restore(request: Request, desk: ADesk, id: str, finding: str, form: AForm) -> Response:
    """As it was before any photo was moved, anything split off or taken in."""

    def change(case: Case, current: Finding, by: str) -> ReviewEvent | str:
        standing = case.standing
        if standing is None or not standing.rearranged(current.id):
            return "Nothing about this finding was changed."
        there = {f.id for f in case.record.findings} if case.record else set()
        if any(_decided(part) or part.id not in there for part in standing.parts(current.id)):
            return "A part that was split off is decided or merged elsewhere: undo that first."
        return _event("restore", case, current, by)

    return _do(request, desk, (id, finding), form, change)


def _numbers(text: str, count: int) -> frozenset[int]:
    return frozenset(int(n) for n in text.split() if n.isascii() and n.isdecimal() and int(n) < count)


def _decided(finding: Finding) -> bool:
    return finding.review is not None and finding.review.state in DECIDED


def _event(kind: str, case: Case, current: Finding, by: str, after: Finding | None = None) -> ReviewEvent:
    return ReviewEvent.model_validate(
        {
            "kind": kind,
            "finding": current.id,
            "by": by,
            "at": datetime.now(UTC),
            "after": after,
            "seen": case.drafted_print(current.id),
        }
    )


def _do(
    request: Request, desk: Desk, place: tuple[str, str], form: Mapping[str, str], change: _Change
) -> Response:
    id, finding = place
    mine = f"Change what this rests on: {form.get('saw', '')[:300]}"
    for _ in range(TRIES):
        case = desk.case(id)
        current = case.finding(finding)
        if case.signed:
            return error_page(request, 409, SIGNED)
        if current is None or form.get("seen") != shown(current):
            return conflict(request, desk, id, finding, mine)
        by = reviewer_of(request)
        if not by:
            return _show(request, case, current, NO_NAME)
        if _decided(current):
            return _show(request, case, current, _wrong("This finding is decided already: undo that first."))
        event = change(case, current, by)
        if isinstance(event, str):
            return _show(request, case, current, _wrong(event))
        try:
            desk.store.append_event(id, event, case.row.version)
        except StaleError:
            continue  # perhaps about another finding: look again
        except SignedError:
            return error_page(request, 409, SIGNED)
        return go_to(f"/inspections/{id}?said={event.kind}#{anchor(finding)}")
    return conflict(request, desk, id, finding, mine)


def _wrong(sentence: str) -> Mistake:
    return Mistake(field="arrange", sentence=sentence)


def _show(request: Request, case: Case, current: Finding, mistake: Mistake | None = None) -> Response:
    captures = {c.sha256: c for c in case.record.captures} if case.record else {}
    findings = case.record.findings if case.record else ()
    numbers = {f.id: n for n, f in enumerate(findings, 1)}
    drawn = scales([current])
    has = {e.capture for e in current.evidence}
    measure = current.reading.measure if current.reading else ""
    standing = case.standing
    return page(
        request,
        "arrange.html",
        422 if mistake else 200,
        case=case,
        unit=views.unit_of(case),
        f=one_view(case, current, drawn.pointers.get(current.id)),
        axes=drawn.axes,
        claim=claim_words(current),
        pieces=list(enumerate(current.evidence)),
        names={sha256: c.original_name for sha256, c in captures.items()},
        photos=[c for c in captures.values() if c.kind == "photo" and c.sha256 not in has],
        loose=set(pieces.loose_photos(case.draft, case.record)),
        readings=[value_words(a.value, a.unit, measure) for a in current.alternatives],
        others=[
            (f"{f.id} {shown(f)}", f"{numbers[f.id]}: {claim_words(f)}")
            for f in findings
            if f.id != current.id and not _decided(f)
        ],
        rearranged=standing is not None and standing.rearranged(current.id),
        mistakes=(mistake,) if mistake else (),
        back=f"/inspections/{case.row.id}",
    )
