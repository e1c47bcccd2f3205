"""Which inspection a capture belongs to: its sub-folder, its spoken opening, nearness in time, or none."""

from datetime import UTC, datetime, timedelta

import pytest

from models.capture import Capture
from models.store import InspectionRow
from pipelines.grouping import REACH, end_of, home_of, inspection_id

NOON = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def note(at: datetime = NOON, folder: str = "", seconds: float = 60.0, sha256: str = "a" * 64) -> Capture:
    return Capture(
        sha256=sha256,
        kind="audio",
        original_name="note.wav",
        folder=folder,
        size=1,
        captured_at=at,
        time_source="file_name",
        zone_known=False,
        duration_s=seconds,
    )


def photo(at: datetime) -> Capture:
    return note(at).model_copy(update={"kind": "photo", "duration_s": None})


def row(
    id: str, *, unit: str | None = None, folder: str = "", at: datetime = NOON, state: str = "open"
) -> InspectionRow:
    return InspectionRow.model_validate(
        {
            "id": id,
            "unit": unit,
            "folder": folder,
            "started_at": at,
            "ended_at": at + 10 * MINUTE,
            "state": state,
            "version": 0,
        }
    )


def test_the_end_of_a_recording_is_behind_its_length() -> None:
    assert end_of(note(seconds=90)) == NOON + timedelta(seconds=90)
    assert end_of(photo(NOON)) == NOON


def test_the_folder_decides_before_the_words() -> None:
    rows = [row("other", unit="23"), row("mine", unit="417", folder="417")]
    found = home_of(note(folder="417"), "23", rows)
    assert found is not None and found.id == "mine"


def test_a_folder_joins_the_truck_that_was_named_aloud() -> None:
    rows = [row("other", unit="23"), row("named", unit="417"), row("filed", unit="417", folder="F7")]
    found = home_of(note(folder="417"), None, rows)
    assert found is not None and found.id == "named"
    found = home_of(note(folder="417"), None, [*rows, row("mine", unit="417", folder="417")])
    assert found is not None and found.id == "mine"
    found = home_of(note(NOON + timedelta(days=1), folder="417"), None, rows)
    assert found is not None and found.id not in {"named", "filed"}


def test_a_new_folder_opens_an_inspection_named_after_it() -> None:
    found = home_of(note(folder="417"), None, [row("near", unit="23")])
    assert found is not None
    assert (found.unit, found.folder, found.state, found.started_at) == ("417", "417", "open", NOON)
    assert found.ended_at == NOON + MINUTE


def test_the_same_folder_on_another_day_is_another_inspection() -> None:
    yesterday = row("old", unit="417", folder="417", at=NOON - timedelta(days=1))
    found = home_of(note(folder="417"), None, [yesterday])
    assert found is not None and found.id != "old"


def test_a_spoken_opening_decides_before_nearness() -> None:
    rows = [row("nearest", unit="23"), row("named", unit="417", at=NOON - 25 * MINUTE)]
    found = home_of(note(), "417", rows)
    assert found is not None and found.id == "named"


def test_a_spoken_opening_of_a_new_unit_opens_an_inspection() -> None:
    found = home_of(note(), "417", [row("near", unit="23")])
    assert found is not None
    assert (found.unit, found.id != "near") == ("417", True)


@pytest.mark.parametrize(
    ("at", "home"),
    [
        (NOON + 5 * MINUTE, "one"),
        (NOON - REACH, "one"),
        (NOON + 10 * MINUTE + REACH, "one"),
        (NOON + 10 * MINUTE + REACH + timedelta(seconds=1), None),
        (NOON - REACH - timedelta(seconds=1), None),
    ],
)
def test_a_photo_goes_to_the_inspection_near_in_time_or_waits(at: datetime, home: str | None) -> None:
    found = home_of(photo(at), None, [row("one", unit="23")])
    assert (found.id if found else None) == home


def test_the_nearest_of_two_wins() -> None:
    rows = [row("far", unit="23", at=NOON - 25 * MINUTE), row("near", unit="24", at=NOON + 5 * MINUTE)]
    found = home_of(photo(NOON + 4 * MINUTE), None, rows)
    assert found is not None and found.id == "near"


def test_equally_near_ones_are_chosen_alike_each_time() -> None:
    rows = [row("b", unit="23"), row("a", unit="24")]
    assert home_of(photo(NOON + MINUTE), None, rows) == home_of(photo(NOON + MINUTE), None, rows[::-1])


def test_a_loose_photo_does_not_go_into_a_folder() -> None:
    assert home_of(photo(NOON), None, [row("folder", unit="417", folder="417")]) is None


def test_a_signed_inspection_takes_nothing_in() -> None:
    assert home_of(photo(NOON), None, [row("signed", unit="417", state="signed")]) is None
    found = home_of(note(), "417", [row("signed", unit="417", state="signed")])
    assert found is not None and found.id != "signed"


def test_a_long_note_reaches_from_its_end() -> None:
    early = note(NOON - REACH - 20 * MINUTE, seconds=20 * 60)
    found = home_of(early, None, [row("one", unit="23")])
    assert found is not None and found.id == "one"


def test_ids_are_the_same_for_the_same_and_only_for_the_same() -> None:
    assert inspection_id("a", "b") == inspection_id("a", "b")
    assert (
        len({inspection_id("a", "b"), inspection_id("b", "a"), inspection_id("ab"), inspection_id("a")}) == 4
    )
