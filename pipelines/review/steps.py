"""The history of an inspection: every decision with what stood there before and after it."""

from models.events import ReviewEvent
from models.frozen import Frozen
from models.record import Finding
from pipelines.review import words as w
from pipelines.review.case import Case


class Step(Frozen):
    """One line of the history: when, who, what, from, to, why."""

    at: str
    by: str
    what: str
    finding: str
    before: str
    after: str
    reason: str


_WHAT = {
    "confirm": "confirmed",
    "correct": "corrected",
    "reject": "rejected",
    "reopen": "opened again",
    "add": "added by hand",
    "attach": "given a photo",
    "detach": "parted from a photo",
    "split": "split",
    "merge": "merged with another",
    "restore": "put back as drafted",
}


def history(case: Case) -> tuple[Step, ...]:
    """Every decision in order, each with what stood there before and after it."""
    drafted = {f.id: f for f in case.draft.findings} if case.draft else {}
    current = {id: w.claim_words(f) for id, f in drafted.items()}
    steps = []
    for event in case.events:
        before = current.get(event.finding, "")
        steps.append(_step(event, before, _after(event, before, drafted)))
        current[event.finding] = steps[-1].after
    return tuple(steps)


def _after(event: ReviewEvent, before: str, drafted: dict[str, Finding]) -> str:
    if event.after is not None:
        return w.claim_words(event.after)
    if event.kind in {"reopen", "restore"}:
        original = drafted.get(event.finding)
        return w.claim_words(original) if original else ""
    return before


def _step(event: ReviewEvent, before: str, after: str) -> Step:
    return Step(
        at=w.time_words(event.at),
        by=event.by,
        what=_WHAT[event.kind],
        finding=event.finding,
        before=before,
        after=after,
        reason=event.reason or "",
    )
