"""Deliveries are planned once, claimed by one process, and never come back from being sent."""

from threading import Thread

from models.store import Store
from tests.models.store.test_chain import keep


def test_a_record_is_planned_once_for_each_receiver(store: Store) -> None:
    keep(store, "one", "417")
    keep(store, "two", "417")
    assert store.deliveries.plan("shop") == 2
    assert store.deliveries.plan("shop") == 0
    assert store.deliveries.plan("owner") == 2
    keep(store, "three", None)
    assert store.deliveries.plan("shop") == 1
    rows = store.deliveries.all()
    assert len({row.message for row in rows}) == 5
    assert [row.inspection for row in rows if row.endpoint == "shop"] == ["one", "two", "three"]


def test_what_is_claimed_is_kept_from_others_for_a_while(store: Store) -> None:
    keep(store, "one", "417")
    store.deliveries.plan("shop")
    first = store.deliveries.claim("shop", 100, 160)
    assert first is not None
    assert first.attempts == 1
    assert store.deliveries.claim("shop", 159, 220) is None
    assert store.deliveries.claim("other", 1000, 2000) is None
    again = store.deliveries.claim("shop", 161, 220)
    assert again is not None
    assert (again.message, again.attempts) == (first.message, 2)


def test_many_at_once_claim_each_once(store: Store) -> None:
    for n in range(6):
        keep(store, str(n), None)
    store.deliveries.plan("shop")
    got: list[int] = []

    def work() -> None:
        while (row := store.deliveries.claim("shop", 100, 200)) is not None:
            got.append(row.id)

    threads = [Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(got) == len(set(got)) == 6


def test_sent_stays_sent(store: Store) -> None:
    keep(store, "one", None)
    store.deliveries.plan("shop")
    row = store.deliveries.claim("shop", 100, 160)
    assert row is not None
    store.deliveries.note(row.id, "sent")
    store.deliveries.note(row.id, "dead", problem="a late answer of another process")
    assert [r.state for r in store.deliveries.all()] == ["sent"]
    assert store.deliveries.revive() == 0
    assert store.deliveries.next_due("shop") is None


def test_a_closed_receiver_gives_up_what_waits_and_opens_again(store: Store) -> None:
    keep(store, "one", None)
    store.deliveries.plan("shop")
    store.deliveries.plan("owner")
    store.deliveries.close("shop", "gone")
    store.deliveries.close("shop", "gone again")
    assert store.deliveries.closed() == {"shop": "gone"}
    assert {(r.endpoint, r.state) for r in store.deliveries.all()} == {("shop", "dead"), ("owner", "waiting")}
    assert store.deliveries.revive() == 1
    assert store.deliveries.closed() == {}
    assert [r.state for r in store.deliveries.all()] == ["waiting", "waiting"]
