"""The store keeps what it is given, exactly, and refuses what must not change."""

import threading
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path

import pytest

from models.capture import Capture, Rejection
from models.events import ReviewEvent
from models.places import Position
from models.record import Finding, Inspection, Reading, Record, Signature
from models.store import InspectionRow, SignedError, StaleError, Store

EAST = timezone(timedelta(hours=5, minutes=30))
NOON = datetime(2026, 11, 20, 12, 0, 0, 250000, tzinfo=EAST)


def capture(number: int, at: datetime = NOON) -> Capture:
    return Capture(
        sha256=f"{number:064x}",
        kind="audio",
        original_name=f"note\n{number} – größe.m4a",
        folder="417",
        size=2**33 + number,
        captured_at=at,
        time_source="container",
        zone_known=True,
        duration_s=12.345678901234567,
    )


def row(id: str = "one", at: datetime = NOON) -> InspectionRow:
    return InspectionRow(id=id, unit=None, folder="417", started_at=at, ended_at=at, state="open", version=0)


def finding(value: str = "6.50") -> Finding:
    reading = Reading(measure="thickness", value=Decimal(value), unit="mm", as_given="six and a half")
    return Finding(
        id="f1", component="brake_pad", position=Position(side="left"), reading=reading, confidence=0.9
    )


def record(id: str = "one", value: str = "6.50", *, by: str | None = None) -> Record:
    head = Inspection(id=id, started_at=NOON, ended_at=NOON, state="signed" if by else "draft")
    signature = Signature(by=by, at=NOON, sha256="ab") if by else None
    return Record(inspection=head, findings=(finding(value),), signature=signature)


def confirm(by: str = "Ann") -> ReviewEvent:
    return ReviewEvent(kind="confirm", finding="f1", by=by, at=NOON)


def test_a_capture_comes_back_as_it_went_in(store: Store) -> None:
    photo = Capture(
        sha256="f" * 64,
        kind="photo",
        original_name="a.jpg",
        size=5,
        captured_at=NOON + timedelta(seconds=1),
        time_source="file_time",
        zone_known=False,
        width=4000,
        height=3000,
    )
    assert store.add_capture(capture(1), NOON)
    assert store.add_capture(photo, NOON)
    found = store.captures()
    assert found == [capture(1), photo]
    assert found[0].captured_at.utcoffset() == timedelta(hours=5, minutes=30)
    assert store.capture("f" * 64) == photo
    assert store.capture("0" * 64) is None


def test_the_same_content_again_is_only_a_sighting(store: Store) -> None:
    assert store.add_capture(capture(1), NOON)
    assert not store.add_capture(capture(1).model_copy(update={"original_name": "copy.m4a"}), NOON)
    assert not store.add_capture(capture(1), NOON)
    assert [c.original_name for c in store.captures()] == [capture(1).original_name]
    assert store.sightings(capture(1).sha256) == 2
    assert store.sightings("0" * 64) == 0


def test_captures_are_ordered_by_time_whatever_their_zone(store: Store) -> None:
    later_but_smaller_text = NOON.astimezone(UTC) + timedelta(minutes=1)
    store.add_capture(capture(1, later_but_smaller_text), NOON)
    store.add_capture(capture(2, NOON), NOON)
    assert [int(c.sha256, 16) for c in store.captures()] == [2, 1]


def test_a_time_without_a_zone_is_refused(store: Store) -> None:
    with pytest.raises(Exception, match="without a zone"):
        store.add_capture(capture(1), datetime(2026, 11, 20))  # noqa: DTZ001
    assert store.captures() == []


def test_rejections_keep_their_order(store: Store) -> None:
    given = [Rejection(name=f"{n}.wav", reason="It is empty.", at=NOON) for n in (2, 1, 3)]
    for one in given:
        store.add_rejection(one)
    assert store.rejections() == given


def test_the_first_artefact_of_a_key_stays(store: Store) -> None:
    store.put_artefact("a" * 64, "speech", "1", '{"x": 1}')
    store.put_artefact("a" * 64, "speech", "1", '{"x": 2}')
    store.put_artefact("a" * 64, "speech", "2", '{"x": 3}')
    assert store.artefact("a" * 64, "speech", "1") == '{"x": 1}'
    assert store.artefact("a" * 64, "speech", "2") == '{"x": 3}'
    assert store.artefact("a" * 64, "notes", "1") is None


def test_assigning_widens_the_inspection(store: Store) -> None:
    store.add_inspection(row())
    for number, minutes in ((1, -5), (2, 7), (3, 0)):
        store.add_capture(capture(number, NOON + timedelta(minutes=minutes)), NOON)
    assert len(store.unassigned()) == 3
    store.assign(capture(1).sha256, "one")
    store.assign(capture(2).sha256, "one")
    found = store.inspection("one")
    assert found is not None
    assert (found.started_at, found.ended_at) == (NOON - timedelta(minutes=5), NOON + timedelta(minutes=7))
    assert [int(c.sha256, 16) for c in store.captures("one")] == [1, 2]
    assert [int(c.sha256, 16) for c in store.unassigned()] == [3]
    assert store.inspection_of(capture(1).sha256) == "one"
    assert store.inspection_of(capture(3).sha256) is None


def test_unknown_names_are_said(store: Store) -> None:
    store.add_inspection(row())
    with pytest.raises(LookupError, match="no capture"):
        store.assign("0" * 64, "one")
    with pytest.raises(LookupError, match="no inspection two"):
        store.name_unit("two", "417")
    with pytest.raises(ValueError, match="already"):
        store.add_inspection(row())
    with pytest.raises(LookupError, match="not signed"):
        store.mark_delivered("one", NOON)
    assert store.inspection("two") is None


def test_inspections_newest_first(store: Store) -> None:
    for id, minutes in (("a", 0), ("b", 9), ("c", 4)):
        store.add_inspection(row(id, NOON + timedelta(minutes=minutes)))
    store.name_unit("b", "417")
    assert [(r.id, r.unit) for r in store.inspections()] == [("b", "417"), ("c", None), ("a", None)]


def test_a_draft_keeps_every_digit(store: Store) -> None:
    store.add_inspection(row())
    assert store.draft("one") is None
    store.put_draft("one", record(value="6.50"))
    found = store.draft("one")
    assert found == record(value="6.50")
    assert found is not None
    assert found.findings[0].reading is not None
    assert str(found.findings[0].reading.value) == "6.50"


def test_a_changed_draft_makes_decisions_on_the_old_one_stale(store: Store) -> None:
    store.add_inspection(row())
    store.put_draft("one", record(value="6.50"))
    store.put_draft("one", record(value="6.50"))
    assert store.append_event("one", confirm(), 0) == 1
    store.put_draft("one", record(value="5.50"))
    with pytest.raises(StaleError, match="newer state"):
        store.append_event("one", confirm(), 1)
    assert store.append_event("one", confirm(), 2) == 3
    assert len(store.events("one")) == 2


def test_events_keep_order_and_digits(store: Store) -> None:
    store.add_inspection(row())
    correct = ReviewEvent(
        kind="correct", finding="f1", by="Bo", at=NOON, reason="misheard", after=finding("7.0")
    )
    assert store.append_event("one", confirm(), 0) == 1
    assert store.append_event("one", correct, 1) == 2
    assert store.events("one") == [confirm(), correct]
    after = store.events("one")[1].after
    assert after is not None
    assert after.reading is not None
    assert str(after.reading.value) == "7.0"
    assert store.events("none") == []


def test_of_two_reviewers_one_must_look_again(store: Store) -> None:
    store.add_inspection(row())
    store.append_event("one", confirm("Ann"), 0)
    with pytest.raises(StaleError):
        store.append_event("one", confirm("Bo"), 0)
    with pytest.raises(StaleError):
        store.sign("one", record(by="Bo"), 0)
    assert [e.by for e in store.events("one")] == ["Ann"]
    assert store.signed("one") is None
    assert store.undelivered() == []


def test_signing_freezes_everything(store: Store) -> None:
    store.add_inspection(row())
    store.add_inspection(row("two"))
    store.add_capture(capture(1), NOON)
    store.assign(capture(1).sha256, "one")
    store.put_draft("one", record())
    store.sign("one", record(by="Ann"), 0)
    found = store.inspection("one")
    assert found is not None
    assert found.state == "signed"
    assert store.signed("one") == record(by="Ann")
    for change in (
        lambda: store.put_draft("one", record(value="1")),
        lambda: store.append_event("one", confirm(), 0),
        lambda: store.sign("one", record(by="Bo"), 0),
        lambda: store.name_unit("one", "x"),
        lambda: store.assign(capture(1).sha256, "one"),
        lambda: store.assign(capture(1).sha256, "two"),
    ):
        with pytest.raises(SignedError):
            change()
    assert store.captures("two") == []


@pytest.mark.parametrize("wrong", [record(), record("two", by="Ann")])
def test_only_a_signed_record_of_this_inspection_can_be_signed(store: Store, wrong: Record) -> None:
    store.add_inspection(row())
    with pytest.raises(ValueError, match="not a signed record"):
        store.sign("one", wrong, 0)
    assert store.undelivered() == []


def test_the_outbox_empties_in_the_order_signed(store: Store) -> None:
    for id in ("b", "a"):
        store.add_inspection(row(id))
        store.sign(id, record(id, by="Ann"), 0)
    assert [r.inspection.id for r in store.undelivered()] == ["b", "a"]
    store.mark_delivered("b", NOON)
    store.mark_delivered("b", NOON + timedelta(days=1))
    assert [r.inspection.id for r in store.undelivered()] == ["a"]
    assert store.delivered_at("b") == NOON
    assert store.delivered_at("a") is None


def test_threads_take_turns(store: Store) -> None:
    store.add_inspection(row())
    taken: list[int] = []
    failures: list[BaseException] = []

    def review(who: int) -> None:
        try:
            for _ in range(5):
                while True:
                    current = store.inspection("one")
                    assert current is not None
                    try:
                        taken.append(store.append_event("one", confirm(str(who)), current.version))
                        break
                    except StaleError:
                        continue
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=review, args=(n,)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert sorted(taken) == list(range(1, 31))
    assert len(store.events("one")) == 30


def test_a_second_opener_sees_what_was_committed(store: Store, url: str, tmp_path: Path) -> None:
    store.add_capture(capture(1), NOON)
    other = Store.open(url)
    try:
        assert other.captures() == [capture(1)]
        other.add_capture(capture(2), NOON)
    finally:
        other.close()
    assert len(store.captures()) == 2
