from datetime import UTC, datetime
from decimal import Decimal

from models.events import EventKind, ReviewEvent, fingerprint, reviewed
from models.record import Finding, Inspection, Reading, Record

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def _finding(value: str, id: str = "f1") -> Finding:
    reading = Reading(measure="thickness", value=Decimal(value), unit="mm", as_given=value)
    return Finding(id=id, component="brake_pad", reading=reading, confidence=0.9)


def _draft(*findings: Finding) -> Record:
    head = Inspection(id="i1", unit="417", started_at=AT, ended_at=AT)
    return Record(inspection=head, findings=findings)


def _event(kind: EventKind, finding: Finding, after: Finding | None = None) -> ReviewEvent:
    seen = fingerprint(finding)
    return ReviewEvent(kind=kind, finding=finding.id, by="A", at=AT, reason="r", after=after, seen=seen)


def _states(record: Record) -> list[str]:
    return [f.review.state for f in record.findings if f.review]


def test_nothing_is_decided_without_events() -> None:
    assert _states(reviewed(_draft(_finding("6.0")), [])) == ["proposed"]


def test_the_last_decision_holds_and_reopening_undoes_all() -> None:
    heard, right = _finding("30.5"), _finding("13.5")
    events = [_event("correct", heard, right), _event("confirm", heard)]
    record = reviewed(_draft(heard), events)
    assert _states(record) == ["confirmed"]
    assert record.findings[0].reading == right.reading
    record = reviewed(_draft(heard), [*events, _event("reopen", heard)])
    assert _states(record) == ["proposed"]
    assert record.findings[0].reading == heard.reading


def test_a_finding_added_by_hand_is_kept_and_reopening_takes_it_away() -> None:
    extra = _finding("4.0", "f2")
    add = ReviewEvent(kind="add", finding="f2", by="A", at=AT, reason="seen on the bench", after=extra)
    assert _states(reviewed(_draft(_finding("6.0")), [add])) == ["proposed", "added"]
    undo = ReviewEvent(kind="reopen", finding="f2", by="A", at=AT)
    assert _states(reviewed(_draft(_finding("6.0")), [add, undo])) == ["proposed"]


def test_a_decision_does_not_hold_for_a_value_that_was_not_seen() -> None:
    seen = _finding("6.0")
    changed = _draft(_finding("5.0"))
    kinds: tuple[EventKind, ...] = ("confirm", "correct", "reject")
    for kind in kinds:
        after = _finding("7.0") if kind == "correct" else None
        record = reviewed(changed, [_event(kind, seen, after)])
        assert _states(record) == ["proposed"]
        assert record.findings[0].reading == changed.findings[0].reading
        assert "changed after A decided" in record.findings[0].attention[0]
    again = reviewed(changed, [_event("confirm", seen), _event("confirm", changed.findings[0])])
    assert _states(again) == ["confirmed"]
    assert again.findings[0].reading == changed.findings[0].reading


def test_the_fingerprint_follows_the_claim_only() -> None:
    finding = _finding("6.0")
    assert fingerprint(finding) == fingerprint(finding.model_copy(update={"confidence": 0.1}))
    assert fingerprint(finding) != fingerprint(_finding("6.00"))
    assert fingerprint(finding) != fingerprint(finding.model_copy(update={"attention": ("look",)}))
    assert len(fingerprint(finding)) == 16
