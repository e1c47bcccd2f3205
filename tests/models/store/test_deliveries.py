"""Deliveries are planned once, claimed by one process, and never come back from being sent."""

from threading import Thread

from models.store import Store
from models.store.deliveries import Turn
from tests.models.store.test_chain import keep


def turn(now: float, until: float, holder: str = "a") -> Turn:
    return Turn(holder=holder, due_by=now, now=now, until=until)


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
    first = store.deliveries.claim("shop", turn(100, 160))
    assert first is not None
    assert first.attempts == 1
    assert store.deliveries.claim("shop", turn(159, 220)) is None
    assert store.deliveries.claim("other", turn(1000, 2000)) is None
    again = store.deliveries.claim("shop", turn(161, 220, "b"))
    assert again is not None
    assert (again.message, again.attempts) == (first.message, 2)


def test_many_at_once_claim_each_once(store: Store) -> None:
    for n in range(6):
        keep(store, str(n), None)
    store.deliveries.plan("shop")
    got: list[int] = []

    def work(holder: str) -> None:
        while len(got) < 6:
            if (row := store.deliveries.claim("shop", turn(100, 200, holder))) is not None:
                got.append(row.id)
                store.deliveries.release("shop", holder)

    threads = [Thread(target=work, args=(name,)) for name in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(got) == len(set(got)) == 6


def test_sent_stays_sent(store: Store) -> None:
    keep(store, "one", None)
    store.deliveries.plan("shop")
    row = store.deliveries.claim("shop", turn(100, 160))
    assert row is not None
    assert store.deliveries.note(row, "sent")
    assert not store.deliveries.note(row, "dead", problem="a late answer of another process")
    assert [r.state for r in store.deliveries.all()] == ["sent"]
    assert store.deliveries.revive() == 0
    assert store.deliveries.next_due("shop") is None


def test_one_sends_to_a_receiver_at_a_time(store: Store) -> None:
    for name in ("one", "two", "three"):
        keep(store, name, None)
    for receiver in ("shop", "owner"):
        store.deliveries.plan(receiver)
    assert store.deliveries.sender("shop", 100) is None
    assert store.deliveries.claim("shop", turn(100, 160, "a")) is not None
    assert store.deliveries.sender("shop", 100) == "a"
    assert store.deliveries.claim("shop", turn(101, 161, "b")) is None
    assert store.deliveries.claim("owner", turn(101, 161, "b")) is not None  # another receiver
    assert store.deliveries.claim("shop", turn(102, 162, "a")) is not None  # its turn goes on
    store.deliveries.release("shop", "b")  # not b's to give back
    assert store.deliveries.claim("shop", turn(103, 163, "b")) is None
    store.deliveries.release("shop", "a")
    assert store.deliveries.claim("shop", turn(104, 164, "b")) is not None
    # b dies: its turn ends by itself
    assert store.deliveries.claim("shop", turn(163, 223, "a")) is None
    assert store.deliveries.claim("shop", turn(165, 225, "a")) is not None


def test_an_attempt_that_took_too_long_only_counts_when_it_was_sent(store: Store) -> None:
    keep(store, "one", None)
    store.deliveries.plan("shop")
    slow = store.deliveries.claim("shop", turn(100, 160, "a"))
    again = store.deliveries.claim("shop", turn(200, 260, "b"))
    assert slow is not None and again is not None
    assert not store.deliveries.note(slow, "waiting", 205, "no answer")
    assert not store.deliveries.note(slow, "dead", problem="no answer")
    assert store.deliveries.next_due("shop") == 260  # b is still at it
    assert store.deliveries.note(slow, "sent")
    assert not store.deliveries.note(again, "waiting", 300, "no answer")
    assert [r.state for r in store.deliveries.all()] == ["sent"]


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
