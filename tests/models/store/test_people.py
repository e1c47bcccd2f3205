"""Accounts and sessions, on every database."""

from datetime import UTC, datetime, timedelta

import pytest

from models.people import Person
from models.store import Store

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)
LATER = NOON + timedelta(hours=8)
ANA = Person(name="Ana Cole", role="reviewer", added_at=NOON)


def test_accounts_come_back_as_they_went_in(store: Store) -> None:
    assert store.people.all() == []
    assert not store.people.needed()
    store.people.add(ANA.model_copy(update={"name": "counter", "role": "system"}), "")
    assert not store.people.needed()
    store.people.add(ANA, "digest")
    assert store.people.needed()
    assert store.people.all()[0] == ANA
    assert [store.people.password_hash(name) for name in ("Ana Cole", "counter", "nobody")] == [
        "digest",
        "",
        "",
    ]
    with pytest.raises(ValueError, match="ana cole already"):
        store.people.add(ANA.model_copy(update={"name": "ana cole"}), "other")
    assert store.people.remove("Ana Cole")
    assert not store.people.remove("Ana Cole")
    assert not store.people.needed()


def test_a_session_lasts_until_its_end(store: Store) -> None:
    store.people.add(ANA, "digest")
    store.people.open_session("a" * 64, "Ana Cole", NOON, LATER)
    store.people.open_session("b" * 64, None, NOON, LATER)
    found = store.people.session("a" * 64, NOON)
    assert found is not None
    assert found.person == ANA
    link = store.people.session("b" * 64, NOON)
    assert link is not None
    assert link.person is None
    assert store.people.session("c" * 64, NOON) is None
    assert store.people.session("a" * 64, LATER) is None
    store.people.forget_expired(LATER - timedelta(seconds=1))
    assert store.people.session("a" * 64, NOON) == found
    store.people.forget_expired(LATER.astimezone())
    assert store.people.session("a" * 64, NOON) is None


def test_sessions_are_closed_one_by_one_by_person_and_with_the_account(store: Store) -> None:
    store.people.add(ANA, "digest")
    for letter in "abc":
        store.people.open_session(letter * 64, "Ana Cole", NOON, LATER)
    store.people.open_session("d" * 64, None, NOON, LATER)
    store.people.close_session("a" * 64)
    assert store.people.session("a" * 64, NOON) is None
    assert store.people.session("b" * 64, NOON) is not None
    assert store.people.revoke("Ana Cole") == 2
    assert store.people.session("b" * 64, NOON) is None
    store.people.open_session("e" * 64, "Ana Cole", NOON, LATER)
    assert store.people.remove("Ana Cole")
    assert store.people.session("e" * 64, NOON) is None
    assert store.people.session("d" * 64, NOON) is not None
    assert store.people.revoke(None) == 1
    assert store.people.session("d" * 64, NOON) is None
