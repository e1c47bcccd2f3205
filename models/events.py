"""What a reviewer did: append-only events over a draft."""

import hashlib
from typing import Literal

from pydantic import AwareDatetime

from models.frozen import Frozen
from models.record import Finding, Record, Review, ReviewState

EventKind = Literal["confirm", "correct", "reject", "reopen", "add"]

_STATE_AFTER: dict[str, ReviewState] = {
    "confirm": "confirmed",
    "correct": "corrected",
    "reject": "rejected",
    "add": "added",
}


class ReviewEvent(Frozen):
    """One decision about one finding.

    Attributes:
        kind: ``reopen`` undoes every earlier decision about the finding.
        finding: id of the finding.
        by: the reviewer.
        at: when.
        reason: why; always given with ``correct``, ``reject`` and ``add``.
        after: the finding as corrected or added; None otherwise.
        seen: what the drafted finding said when the decision was made (:func:`fingerprint`); None for a
            finding added by hand.
    """

    kind: EventKind
    finding: str
    by: str
    at: AwareDatetime
    reason: str | None = None
    after: Finding | None = None
    seen: str | None = None


def fingerprint(finding: Finding) -> str:
    """A short digest of what a finding claims and rests on: part, place, reading, doubts, evidence.

    Confidence, alternatives and verdict are left out: they may be computed anew without the claim changing.
    """
    kept = {"component", "position", "reading", "conditions", "action", "attention", "evidence"}
    return hashlib.sha256(finding.model_dump_json(include=kept).encode()).hexdigest()[:16]


def _proposed_again(drafted: Finding, event: ReviewEvent) -> Finding:
    doubt = f"This changed after {event.by} decided about it: look at it and decide again."
    update = {"review": Review(state="proposed"), "attention": (*drafted.attention, doubt)}
    return drafted.model_copy(update=update)


def reviewed(draft: Record, events: list[ReviewEvent]) -> Record:
    """The draft with every decision applied in order.

    Each finding carries a ``review``; those nobody looked at are ``proposed``. A decision holds only for
    what was seen: when new files change a finding afterwards, it is proposed again and says so.
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
        drafted = original.get(event.finding)
        if drafted is not None and event.seen is not None and event.seen != fingerprint(drafted):
            current[event.finding] = _proposed_again(drafted, event)
            continue
        review = Review(state=_STATE_AFTER[event.kind], by=event.by, at=event.at, reason=event.reason)
        current[event.finding] = base.model_copy(update={"review": review})
    return draft.model_copy(update={"findings": tuple(current.values())})
