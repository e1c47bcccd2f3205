"""What a reviewer did: append-only events over a draft."""

import hashlib
from typing import Literal

from pydantic import AwareDatetime

from models.frozen import Frozen
from models.record import Finding, Record, Review, ReviewState

EventKind = Literal[
    "confirm", "correct", "reject", "reopen", "add", "attach", "detach", "split", "merge", "restore"
]

_STATE_AFTER: dict[str, ReviewState] = {
    "confirm": "confirmed",
    "correct": "corrected",
    "reject": "rejected",
    "add": "added",
}


class ReviewEvent(Frozen):
    """One decision about one finding, or one change of what it rests on.

    Attributes:
        kind: ``reopen`` undoes every earlier decision about the finding; ``attach`` and ``detach`` change its
            photos, ``split`` takes a part of it into a finding of its own, ``merge`` takes another finding
            in, ``restore`` undoes those four. None of these five decides anything: the findings are open
            afterwards.
        finding: id of the finding.
        by: the reviewer.
        at: when.
        reason: why; always given with ``correct``, ``reject`` and ``add``.
        after: the finding as corrected, added or changed; None otherwise.
        seen: what the draft said when the decision was made (:meth:`Standing.basis`); None for a finding
            added by hand.
        split_off: the finding that ``split`` makes.
        taken_in: id of the finding that ``merge`` takes in.
        taken_in_seen: as ``seen``, for that one.
    """

    kind: EventKind
    finding: str
    by: str
    at: AwareDatetime
    reason: str | None = None
    after: Finding | None = None
    seen: str | None = None
    split_off: Finding | None = None
    taken_in: str | None = None
    taken_in_seen: str | None = None


def fingerprint(finding: Finding) -> str:
    """A short digest of what a finding claims and rests on: part, place, reading, doubts, evidence.

    Confidence, alternatives and verdict are left out: they may be computed anew without the claim changing.
    """
    kept = {"component", "position", "reading", "conditions", "action", "attention", "evidence"}
    return hashlib.sha256(finding.model_dump_json(include=kept).encode()).hexdigest()[:16]


def _open(finding: Finding) -> Finding:
    return finding.model_copy(update={"review": Review(state="proposed")})


class Standing:
    """The findings of a draft as events change them, one after the other.

    A decision holds only for what was seen: when new files change a drafted finding afterwards, events about
    it no longer count, and it is proposed again and says so.
    """

    def __init__(self, draft: Record) -> None:
        self._drafted = {f.id: f for f in draft.findings}
        self._born = {key: _open(f) for key, f in self._drafted.items()}  # as drafted, added or split off
        self._base = dict(self._born)  # with what it rests on now, before any decision
        self._now = dict(self._born)
        self._taken_in: dict[str, str] = {}  # finding -> the one that took it in
        self._split_from: dict[str, str] = {}  # finding -> the one it was a part of

    def findings(self) -> tuple[Finding, ...]:
        """As they stand: drafted ones in the order of the draft, each followed by what was split off it."""
        whole = [key for key in self._now if key not in self._split_from]
        ordered = [f for key in whole for f in (key, *self._parts(key))]
        return tuple(self._now[f] for f in ordered if f in self._now and f not in self._taken_in)

    def basis(self, finding: str) -> str | None:
        """Digest of the drafted findings that one rests on; None when no draft brought it."""
        sources: dict[str, None] = {}
        self._gather(finding, sources)
        prints = [fingerprint(self._drafted[key]) for key in sources if key in self._drafted]
        if len(prints) < 2:
            return prints[0] if prints else None
        return hashlib.sha256(" ".join(prints).encode()).hexdigest()[:16]

    def rearranged(self, finding: str) -> bool:
        """Whether its photos were changed, something was split off it or taken in."""
        touched = self._base.get(finding) != self._born.get(finding)
        return touched or finding in self._taken_in.values() or finding in self._split_from.values()

    def parts(self, finding: str) -> tuple[Finding, ...]:
        """What was split off a finding, as it stands."""
        return tuple(self._now[key] for key in self._parts(finding))

    def apply(self, event: ReviewEvent) -> None:
        """Take one event into account."""
        if event.kind == "reopen":
            self._reopen(event.finding)
        elif event.kind == "restore":
            self._restore(event.finding)
        elif not self._holds(event):
            if event.finding in self._drafted:
                self._now[event.finding] = self._again(event)
        elif event.kind in _STATE_AFTER:
            self._decide(event)
        elif event.after is not None and event.finding in self._base:
            self._rearrange(event)

    def _parts(self, finding: str) -> list[str]:
        direct = [key for key, origin in self._split_from.items() if origin == finding]
        return [key for part in direct for key in (part, *self._parts(part))]

    def _gather(self, finding: str, into: dict[str, None]) -> None:
        """The finding, the one it was split off, those it took in, and so on."""
        if finding in into:
            return
        into[finding] = None
        if origin := self._split_from.get(finding):
            self._gather(origin, into)
        for key, by in self._taken_in.items():
            if by == finding:
                self._gather(key, into)

    def _holds(self, event: ReviewEvent) -> bool:
        """Whether what the event was about is still what the draft says."""
        other = event.taken_in
        if other is not None and (other not in self._now or self.basis(other) != event.taken_in_seen):
            return False
        return event.seen is None or self.basis(event.finding) in (None, event.seen)

    def _again(self, event: ReviewEvent) -> Finding:
        drafted = self._drafted[event.finding]
        doubt = f"This changed after {event.by} decided about it: look at it and decide again."
        return _open(drafted.model_copy(update={"attention": (*drafted.attention, doubt)}))

    def _decide(self, event: ReviewEvent) -> None:
        base = event.after or self._now.get(event.finding)
        if base is None:
            return
        review = Review(state=_STATE_AFTER[event.kind], by=event.by, at=event.at, reason=event.reason)
        self._now[event.finding] = base.model_copy(update={"review": review})
        if event.kind == "add":
            self._born[event.finding] = self._base[event.finding] = self._now[event.finding]

    def _reopen(self, finding: str) -> None:
        if finding in self._drafted or finding in self._split_from:
            self._now[finding] = self._base[finding]
        elif finding in self._now:  # added by hand: what it took in must not go with it
            self._restore(finding)
            self._now.pop(finding)

    def _rearrange(self, event: ReviewEvent) -> None:
        assert event.after is not None
        self._base[event.finding] = self._now[event.finding] = _open(event.after)
        if event.split_off is not None:
            new = event.split_off.id
            self._split_from[new] = event.finding
            self._born[new] = self._base[new] = self._now[new] = _open(event.split_off)
        if event.taken_in is not None:
            self._taken_in[event.taken_in] = event.finding

    def _restore(self, finding: str) -> None:
        for part in self._parts(finding):
            self._now.pop(part)
            self._split_from.pop(part)
            self._taken_in.pop(part, None)
        for key in [key for key, by in self._taken_in.items() if by == finding]:
            self._taken_in.pop(key)
        if finding in self._born:
            self._base[finding] = self._now[finding] = self._born[finding]


def standing(draft: Record, events: list[ReviewEvent]) -> Standing:
    """The draft with every event applied in order."""
    made = Standing(draft)
    for event in events:
        made.apply(event)
    return made


def reviewed(draft: Record, events: list[ReviewEvent]) -> Record:
    """The draft as reviewers left it.

    Each finding carries a ``review``; those nobody looked at are ``proposed``. A decision holds only for
    what was seen: when new files change a finding afterwards, it is proposed again and says so.
    """
    return draft.model_copy(update={"findings": standing(draft, events).findings()})
