"""What a reviewer did: append-only events over a draft."""

from typing import Literal

from pydantic import AwareDatetime

from models.frozen import Frozen
from models.record import Finding, Record, Review

EventKind = Literal["confirm", "correct", "reject", "reopen", "add"]

_STATE_AFTER = {"confirm": "confirmed", "correct": "corrected", "reject": "rejected", "add": "added"}


class ReviewEvent(Frozen):
    """One decision about one finding.

    Attributes:
        kind: ``reopen`` undoes every earlier decision about the finding.
        finding: id of the finding.
        by: the reviewer.
        at: when.
        reason: why; always given with ``correct``, ``reject`` and ``add``.
        after: the finding as corrected or added; None otherwise.
    """

    kind: EventKind
    finding: str
    by: str
    at: AwareDatetime
    reason: str | None = None
    after: Finding | None = None


def reviewed(draft: Record, events: list[ReviewEvent]) -> Record:
    """The draft with every decision applied in order.

    Each finding carries a ``review``; those nobody looked at are ``proposed``.
    """
    original = {f.id: f for f in draft.findings}
    current = {key: f.model_copy(update={"review": Review(state="proposed")}) for key, f in original.items()}
    for event in events:
        if event.kind == "reopen":
            if event.finding in original:
                proposed = Review(state="proposed")
                current[event.finding] = original[event.finding].model_copy(update={"review": proposed})
            else:
                current.pop(event.finding, None)
            continue
        base = event.after or current.get(event.finding)
        if base is None:
            continue
        review = Review(state=_STATE_AFTER[event.kind], by=event.by, at=event.at, reason=event.reason)  # type: ignore[arg-type]
        current[event.finding] = base.model_copy(update={"review": review})
    return draft.model_copy(update={"findings": tuple(current.values())})
