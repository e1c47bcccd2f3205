"""What is removed when its time is over, and what stays whatever the settings say."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from capture.originals import Folder
from models.settings import KeepingSettings, Settings, SettingsError, load_settings
from models.store import Store
from models.store.amending import open_amendment
from pipelines.delivery.verifying import Wrong, by_hash, check_chain
from pipelines.operations.retention import months_before, overdue, remove_overdue
from tests.pipelines.operations.garage import NOW, inspect, sign_off

MONTH = timedelta(days=31)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    opened = Store.open(f"sqlite:///{home / 'droplight.db'}")
    yield opened
    opened.close()


def kept(home: Path) -> set[str]:
    return {p.stem for p in (home / "originals").glob("??/??/*")}


def apply(store: Store, home: Path, keeping: KeepingSettings, now: datetime) -> None:
    remove_overdue(store, Folder(home / "originals"), home, overdue(store, keeping, now), now)


def test_months_are_calendar_months() -> None:
    assert months_before(datetime(2026, 3, 31, tzinfo=UTC), 1) == datetime(2026, 2, 28, tzinfo=UTC)
    assert months_before(datetime(2026, 1, 15, tzinfo=UTC), 14) == datetime(2024, 11, 15, tzinfo=UTC)
    assert months_before(datetime(2028, 4, 29, tzinfo=UTC), 14) == datetime(2027, 2, 28, tzinfo=UTC)


@given(st.datetimes(datetime(2020, 1, 1), datetime(2060, 1, 1)), st.integers(1, 200))  # noqa: DTZ001
def test_so_many_months_are_never_less(now: datetime, months: int) -> None:
    before = months_before(now, months)
    assert (now.year - before.year) * 12 + now.month - before.month == months
    assert before.day <= now.day


def test_media_go_after_their_months_and_records_stay(store: Store, home: Path) -> None:
    old, note = inspect(store, home, "417", 1)
    record = sign_off(store, old, NOW)
    young, other = inspect(store, home, "9", 2)
    sign_off(store, young, NOW + 2 * MONTH)
    open_, third = inspect(store, home, "5", 3)
    keeping = KeepingSettings(media_months=14)
    last = datetime(2028, 1, 20, 12, tzinfo=UTC)  # of the 14 months
    assert overdue(store, keeping, last).media == ()
    at = last + timedelta(seconds=1)
    found = overdue(store, keeping, at)
    assert (found.media, found.records, found.unsigned) == ((note.sha256,), (), (open_,))
    apply(store, home, keeping, at)
    assert kept(home) == {other.sha256, third.sha256}
    assert store.signed(old) == record
    removal = store.keeping.removal(note.sha256)
    assert removal is not None and "time" in removal.why
    assert overdue(store, keeping, at).media == ()  # done


def test_a_record_goes_with_all_that_belongs_to_it_and_the_next_still_holds(store: Store, home: Path) -> None:
    first, note = inspect(store, home, "417", 1)
    sign_off(store, first, NOW)
    second, later = inspect(store, home, "417", 2)
    sign_off(store, second, NOW + 6 * MONTH)
    at = NOW + 15 * MONTH
    apply(store, home, KeepingSettings(records_months=14), at)
    assert [row.id for row in store.inspections()] == [second]
    assert store.signed(first) is None and store.capture(note.sha256) is None
    assert store.artefact(note.sha256, "transcript", "") is None
    assert kept(home) == {later.sha256}
    (left,) = store.chain("417")
    removed = {one.sha256 for one in store.keeping.removed_records()}
    with pytest.raises(Wrong, match="missing"):
        check_chain(left, by_hash([left]))
    assert check_chain(left, by_hash([left]), removed) == 0


def test_the_chain_goes_on_after_all_its_records_are_gone(store: Store, home: Path) -> None:
    first, _ = inspect(store, home, "417", 1)
    signed = sign_off(store, first, NOW)
    apply(store, home, KeepingSettings(records_months=14), NOW + 15 * MONTH)
    second, _ = inspect(store, home, "417", 2)
    again = sign_off(store, second, NOW + 16 * MONTH)
    assert signed.signature and again.signature
    assert again.signature.previous_sha256 == signed.signature.sha256


def test_what_was_not_delivered_stays(store: Store, home: Path) -> None:
    first, _ = inspect(store, home, "417", 1)
    sign_off(store, first, NOW, delivered=False)
    found = overdue(store, KeepingSettings(records_months=14), NOW + 15 * MONTH)
    assert (found.records, found.waiting) == ((), (first,))


def test_an_amendment_keeps_what_it_cites(store: Store, home: Path) -> None:
    first, note = inspect(store, home, "417", 1)
    sign_off(store, first, NOW)
    amendment = open_amendment(store, first)
    keeping = KeepingSettings(records_months=14, media_months=14)
    at = NOW + 15 * MONTH
    assert overdue(store, keeping, at).media == () and overdue(store, keeping, at).records == ()
    sign_off(store, amendment, NOW + 3 * MONTH)
    found = overdue(store, keeping, at)
    assert (found.media, found.records) == ((), ())
    later = overdue(store, keeping, NOW + 20 * MONTH)
    assert later.media == (note.sha256,)
    assert set(later.records) == {first, amendment}


def test_by_default_everything_stays(store: Store, home: Path) -> None:
    first, _ = inspect(store, home, "417", 1)
    sign_off(store, first, NOW)
    found = overdue(store, KeepingSettings(), NOW + 1200 * MONTH)
    assert (found.media, found.records, found.waiting, found.unsigned) == ((), (), (), ())


@pytest.mark.parametrize("name", ["media_months", "records_months"])
def test_less_than_the_law_asks_for_is_refused_unless_it_does_not_hold(name: str, tmp_path: Path) -> None:
    own = tmp_path / "settings.yaml"
    own.write_text(f"keeping: {{{name}: 13}}\n")
    with pytest.raises(SettingsError, match=r"396\.21"):
        load_settings(tmp_path)
    own.write_text(f"keeping: {{{name}: 14}}\n")
    assert load_settings(tmp_path).keeping == KeepingSettings(**{name: 14})
    own.write_text(f"keeping: {{{name}: 3}}\ntruck: {{commercial: false}}\n")
    assert isinstance(load_settings(tmp_path), Settings)
