"""Signed records go out by themselves while a program runs, by one sender a receiver at a time."""

import logging
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from models.settings import Settings
from models.store import Store
from pipelines.commands.failure import Failure
from pipelines.commands.tools import sending
from pipelines.delivery.background import BackgroundSender
from pipelines.delivery.webhook import SecretError
from tests.pipelines.delivery.receiver import SECRET, running
from tests.pipelines.delivery.test_sending import endpoint, keep


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    yield opened
    opened.close()


def until(true: Callable[[], object]) -> None:
    deadline = time.monotonic() + 20
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def test_what_is_signed_goes_out_by_itself(store: Store) -> None:
    keep(store, "before")
    with running() as receiver:
        sender = BackgroundSender(store, [endpoint(receiver.url)], poll_s=0.02)
        sender.start()
        until(lambda: len(receiver.taken) == 1)
        keep(store, "while it runs")
        until(lambda: [row.state for row in store.deliveries.all()] == ["sent", "sent"])
        assert sender.stop()
        keep(store, "afterwards")
        time.sleep(0.1)
        assert len(receiver.requests) == len(receiver.taken) == 2


def test_two_programs_send_each_record_once(store: Store, tmp_path: Path) -> None:
    keep(store, *(f"i{n}" for n in range(20)))
    other = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    with running() as receiver:
        senders = [BackgroundSender(s, [endpoint(receiver.url)], poll_s=0.01) for s in (store, other)]
        for sender in senders:
            sender.start()
        until(lambda: len(receiver.taken) == 20)
        assert all(sender.stop() for sender in senders)
    other.close()
    assert len(receiver.requests) == 20
    assert {row.state for row in store.deliveries.all()} == {"sent"}


def test_it_stops_after_the_delivery_in_hand(store: Store) -> None:
    keep(store, *(f"i{n}" for n in range(50)))
    hold = threading.Event()

    def behave() -> int:
        hold.wait(10)
        return 200

    with running(behave) as receiver:
        sender = BackgroundSender(store, [endpoint(receiver.url)], poll_s=0.01)
        sender.start()
        until(lambda: receiver.requests)
        threading.Timer(0.2, hold.set).start()
        assert sender.stop()
    assert len(receiver.requests) == 1
    rows = store.deliveries.all()
    assert [row.state for row in rows].count("sent") == 1
    assert store.deliveries.sender("shop", time.time()) is None  # the turn is given back


def test_trouble_with_the_database_is_said_once_and_passes(
    store: Store, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(store, "one")
    monkeypatch.setattr("pipelines.delivery.background.TROUBLE_S", 0.02)
    plan, failures = store.deliveries.plan, iter(range(3))

    def sometimes(receiver: str) -> int:
        if next(failures, None) is not None:
            raise OSError("the disk is full")
        return plan(receiver)

    monkeypatch.setattr(store.deliveries, "plan", sometimes)
    with running() as receiver, caplog.at_level(logging.ERROR):
        sender = BackgroundSender(store, [endpoint(receiver.url)], poll_s=0.02)
        sender.start()
        until(lambda: receiver.taken)
        sender.stop()
    assert caplog.text.count("could not be sent (the disk is full)") == 1


def test_what_was_given_up_is_said(store: Store, caplog: pytest.LogCaptureFixture) -> None:
    keep(store, "one")
    with running(lambda: 422) as receiver, caplog.at_level(logging.WARNING):
        sender = BackgroundSender(store, [endpoint(receiver.url)], poll_s=0.02)
        sender.start()
        until(lambda: store.deliveries.all("dead"))
        sender.stop()
    assert "1 signed record(s) could not be handed on" in caplog.text


def _settings(tmp_path: Path, url: str, **more: object) -> Settings:
    receivers = [{"name": "shop", "url": url, "secret": SECRET}]
    return Settings.model_validate({"home": tmp_path, "delivery": {"endpoints": receivers, **more}})


def test_the_programs_send_unless_the_settings_say_no(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    keep(store, "one")
    with running() as receiver:
        with sending(store, _settings(tmp_path, receiver.url, automatic=False)):
            time.sleep(0.1)
        with sending(store, Settings(home=tmp_path)):
            pass
        assert receiver.requests == []
        assert capsys.readouterr().out == ""
        with sending(store, _settings(tmp_path, receiver.url)):
            until(lambda: receiver.taken)
        assert capsys.readouterr().out == "Signed records are sent to: shop.\n"
        assert threading.active_count() == len([t for t in threading.enumerate() if t.name != "sender"])


def test_a_secret_that_cannot_be_used_is_said_at_the_start(store: Store, tmp_path: Path) -> None:
    bad = endpoint("http://127.0.0.1:9/").model_copy(update={"secret": "whsec_short"})
    with pytest.raises(SecretError):
        BackgroundSender(store, [bad])
    settings = _settings(tmp_path, "http://127.0.0.1:9/")
    delivery = settings.delivery.model_copy(update={"endpoints": (bad,)})
    with (
        pytest.raises(Failure, match=r"24 to 64 bytes.*settings\.yaml"),
        sending(store, settings.model_copy(update={"delivery": delivery})),
    ):
        pass
