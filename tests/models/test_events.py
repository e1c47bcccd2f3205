from datetime import UTC, datetime
from decimal import Decimal

from models.events import EventKind, ReviewEvent, fingerprint, reviewed, standing
from models.record import Evidence, Finding, Inspection, Reading, Record

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


PHOTO = Evidence(kind="photo", capture="a" * 64, text="4.5")
VOICE = Evidence(kind="audio", capture="b" * 64, text="six", start_s=0, end_s=1)


def _resting(finding: Finding, *evidence: Evidence) -> Finding:
    return finding.model_copy(update={"evidence": evidence})


def _arranged(
    kind: EventKind, draft: Record, events: list[ReviewEvent], after: Finding, **more
) -> ReviewEvent:
    so_far = standing(draft, events)
    if other := more.get("taken_in"):
        more["taken_in_seen"] = so_far.basis(other)
    return ReviewEvent(
        kind=kind, finding=after.id, by="A", at=AT, after=after, seen=so_far.basis(after.id), **more
    )


def _decided(kind: EventKind, draft: Record, events: list[ReviewEvent], id: str) -> ReviewEvent:
    return ReviewEvent(kind=kind, finding=id, by="A", at=AT, seen=standing(draft, events).basis(id))


def _shown(record: Record) -> list[tuple[str, int]]:
    return [(f.id, len(f.evidence)) for f in record.findings]


def test_a_photo_moves_without_deciding_anything() -> None:
    draft = _draft(_resting(_finding("6.0"), VOICE))
    events = [_arranged("attach", draft, [], _resting(_finding("6.0"), VOICE, PHOTO))]
    assert _shown(reviewed(draft, events)) == [("f1", 2)]
    events.append(_decided("confirm", draft, events, "f1"))
    assert _states(reviewed(draft, events)) == ["confirmed"]
    events.append(_decided("reopen", draft, events, "f1"))
    record = reviewed(draft, events)
    assert (_shown(record), _states(record)) == ([("f1", 2)], ["proposed"])
    assert standing(draft, events).rearranged("f1")
    events.append(_decided("restore", draft, events, "f1"))
    assert _shown(reviewed(draft, events)) == [("f1", 1)]
    assert not standing(draft, events).rearranged("f1")


def _split(draft: Record) -> list[ReviewEvent]:
    rest = _resting(draft.findings[0], VOICE)
    part = _resting(_finding("4.5", "part"), PHOTO)
    return [_arranged("split", draft, [], rest, split_off=part)]


def test_a_finding_is_split_decided_in_parts_and_put_together_again() -> None:
    draft = _draft(_resting(_finding("6.0"), VOICE, PHOTO), _finding("3.0", "f2"))
    events = _split(draft)
    assert _shown(reviewed(draft, events)) == [("f1", 1), ("part", 1), ("f2", 0)]
    events.append(_decided("confirm", draft, events, "part"))
    assert _states(reviewed(draft, events)) == ["proposed", "confirmed", "proposed"]
    events.append(_decided("reopen", draft, events, "part"))
    assert _shown(reviewed(draft, events)) == [("f1", 1), ("part", 1), ("f2", 0)]
    events.append(_decided("restore", draft, events, "f1"))
    assert _shown(reviewed(draft, events)) == [("f1", 2), ("f2", 0)]


def test_a_part_is_merged_back_or_into_another_and_never_lost() -> None:
    draft = _draft(_resting(_finding("6.0"), VOICE, PHOTO), _finding("3.0", "f2"))
    events = _split(draft)
    back = _arranged("merge", draft, events, draft.findings[0], taken_in="part")
    assert _shown(reviewed(draft, [*events, back])) == [("f1", 2), ("f2", 0)]
    away = _arranged("merge", draft, events, _resting(draft.findings[1], PHOTO), taken_in="part")
    assert _shown(reviewed(draft, [*events, away])) == [("f1", 1), ("f2", 1)]
    # what was split off stays when the rest is taken in elsewhere
    rest = _arranged("merge", draft, events, _resting(draft.findings[1], VOICE), taken_in="f1")
    assert _shown(reviewed(draft, [*events, rest])) == [("part", 1), ("f2", 1)]
    turned = _arranged("merge", draft, events, _resting(_finding("4.5", "part"), PHOTO, VOICE), taken_in="f1")
    assert _shown(reviewed(draft, [*events, turned])) == [("part", 2), ("f2", 0)]


def test_two_findings_become_one_and_two_again() -> None:
    draft = _draft(_resting(_finding("6.0"), VOICE), _resting(_finding("4.5", "f2"), PHOTO))
    events = [_arranged("merge", draft, [], _resting(_finding("6.0"), VOICE, PHOTO), taken_in="f2")]
    assert _shown(reviewed(draft, events)) == [("f1", 2)]
    events.append(_decided("confirm", draft, events, "f1"))
    assert _states(reviewed(draft, events)) == ["confirmed"]
    events.append(_decided("restore", draft, events, "f1"))
    assert _shown(reviewed(draft, events)) == [("f1", 1), ("f2", 1)]
    assert _states(reviewed(draft, events)) == ["proposed", "proposed"]


def test_a_merge_holds_only_while_both_say_what_they_said() -> None:
    one, two = _resting(_finding("6.0"), VOICE), _resting(_finding("4.5", "f2"), PHOTO)
    draft = _draft(one, two)
    events = [_arranged("merge", draft, [], _resting(one, VOICE, PHOTO), taken_in="f2")]
    events.append(_decided("confirm", draft, events, "f1"))
    for changed in (
        _draft(one, _finding("9.9", "f2")),
        _draft(_finding("9.9"), two),
        _draft(one),
    ):
        record = reviewed(changed, events)
        assert [f.id for f in record.findings] == [f.id for f in changed.findings]
        assert set(_states(record)) == {"proposed"}
        assert "This changed after A decided" in record.findings[0].attention[-1]
        again = [*events, _decided("confirm", changed, events, "f1")]
        assert _states(reviewed(changed, again))[0] == "confirmed"


def test_a_split_does_not_outlive_what_was_split() -> None:
    draft = _draft(_resting(_finding("6.0"), VOICE, PHOTO))
    events = _split(draft)
    events.append(_decided("confirm", draft, events, "part"))
    changed = _draft(_resting(_finding("5.0"), VOICE, PHOTO))
    record = reviewed(changed, events)
    assert (_shown(record), _states(record)) == ([("f1", 2)], ["proposed"])


def test_taking_away_what_was_added_gives_back_what_it_took_in() -> None:
    draft = _draft(_resting(_finding("4.5"), PHOTO))
    extra = _finding("4.0", "f2")
    events = [ReviewEvent(kind="add", finding="f2", by="A", at=AT, reason="r", after=extra)]
    events.append(_arranged("merge", draft, events, _resting(extra, PHOTO), taken_in="f1"))
    assert _shown(reviewed(draft, events)) == [("f2", 1)]
    events.append(_decided("reopen", draft, events, "f2"))
    assert _shown(reviewed(draft, events)) == [("f1", 1)]
