"""Each signed record reaches the receiver once or is given up and listed: never lost, never twice."""

import json
import random
import time
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from standardwebhooks import Webhook

from models.record import Finding, Inspection, Record, Review
from models.settings import EndpointSettings
from models.signing import sign, verify
from models.store import InspectionRow, Store
from models.store.deliveries import Turn
from pipelines.commands.main import main
from pipelines.delivery.sending import DELAYS_S, JITTER, PATIENCE, due_again, send_due
from pipelines.delivery.webhook import Answer, SecretError, answer_of, key_of, signature, wait_of
from tests.pipelines.delivery.receiver import SECRET, running

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    yield opened
    opened.close()


def keep(store: Store, *names: str) -> None:
    for name in names:
        review = Review(state="confirmed", by="A", at=AT)
        finding = Finding(id=f"f{name}", component="brake_pad", confidence=1, review=review)
        head = Inspection(id=name, unit=None, started_at=AT, ended_at=AT)
        row = InspectionRow(
            id=name, unit=None, folder="", started_at=AT, ended_at=AT, state="open", version=0
        )
        store.add_inspection(row)
        store.sign(name, sign(Record(inspection=head, findings=(finding,)), "A", AT), 0)


def endpoint(url: str, **more: object) -> EndpointSettings:
    return EndpointSettings.model_validate({"name": "shop", "url": url, "secret": SECRET, **more})


class Clock:
    def __init__(self) -> None:
        self.now = 1_800_000_000.0

    def __call__(self) -> float:
        return self.now


def run_out(store: Store, target: EndpointSettings, clock: Clock, stride_s: float = 0.0) -> int:
    """Send until nothing waits, moving the clock to what is due next, and ``stride_s`` more."""
    rng = random.Random(1)
    rounds = 0
    while True:
        send_due(store, [target], clock, rng.uniform)
        rounds += 1
        due = store.deliveries.next_due(target.name)
        if due is None:
            return rounds
        assert rounds < 200
        clock.now = max(clock.now, due) + stride_s


# The vector of the Standard Webhooks repository.
def test_the_signature_is_that_of_the_published_vector() -> None:
    made = signature(SECRET, "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, b'{"test": 2432232314}')
    assert made == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


@pytest.mark.parametrize("secret", ["whsec_short", "whsec_!!!", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", ""])
def test_a_secret_of_another_kind_is_refused(secret: str) -> None:
    with pytest.raises(SecretError, match="24 to 64 bytes"):
        key_of(secret)


def test_a_receiver_of_the_standard_takes_it(store: Store) -> None:
    keep(store, "one")
    with running() as receiver:
        went = send_due(store, [endpoint(receiver.url)])
    assert (went.sent, went.again, went.given_up) == (1, 0, 0)
    (message, body), headers = next(iter(receiver.taken.items())), receiver.requests[0]
    assert Webhook(SECRET).verify(body.decode(), headers) == json.loads(body)
    with pytest.raises(Exception, match="signature"):
        Webhook(SECRET).verify(body.decode() + " ", headers)
    assert verify(json.loads(body))
    assert headers["idempotency-key"] == f'"{message}"'
    assert headers["content-type"] == "application/json"


def test_sending_again_sends_nothing_twice(store: Store) -> None:
    keep(store, "one", "two")
    with running() as receiver:
        for _ in range(3):
            send_due(store, [endpoint(receiver.url)])
        keep(store, "three")
        send_due(store, [endpoint(receiver.url)])
    assert len(receiver.requests) == len(receiver.taken) == 3


def test_nothing_is_lost_and_nothing_comes_twice(store: Store) -> None:
    names = [f"i{n}" for n in range(200)]
    keep(store, *names)
    rng = random.Random(20261120)
    kinds = [200, 204, 500, 503, 429, 409, 422, "timeout", "close", "cut"]
    weights = [30, 10, 22, 5, 10, 7, 3, 3, 7, 3]

    def behave() -> int | str:
        return rng.choices(kinds, weights)[0]

    clock = Clock()
    with running(behave) as receiver:
        run_out(store, endpoint(receiver.url, timeout_s=0.1), clock, 3 * 3600)
    rows = store.deliveries.all()
    assert [row.inspection for row in rows] == names
    states = Counter(row.state for row in rows)
    assert set(states) == {"sent", "dead"}
    assert states["dead"] >= 1
    assert receiver.clashes == []  # the same id always carried the same bytes
    arrived = Counter(json.loads(body)["inspection"]["id"] for body in receiver.taken.values())
    assert set(arrived.values()) == {1}
    for row in rows:
        assert row.state == "dead" or row.message in receiver.taken
        assert row.state == "sent" or row.problem
    assert len(receiver.requests) > len(names)


def test_what_was_given_up_can_be_sent_again(store: Store) -> None:
    keep(store, "one")
    clock = Clock()
    with running(lambda: 422) as receiver:
        run_out(store, endpoint(receiver.url), clock)
        assert len(receiver.requests) == 1  # trying again would bring the same
        (dead,) = store.deliveries.all("dead")
        assert "status 422" in dead.problem
        receiver.behave = lambda: 200
        assert store.deliveries.revive() == 1
        run_out(store, endpoint(receiver.url), clock)
        assert [row.state for row in store.deliveries.all()] == ["sent"]
        assert list(receiver.taken) == [dead.message]


def test_a_receiver_that_is_gone_gets_nothing_more(store: Store) -> None:
    keep(store, "one", "two")
    clock = Clock()
    with running(lambda: 410) as receiver:
        run_out(store, endpoint(receiver.url), clock)
        keep(store, "three")
        send_due(store, [endpoint(receiver.url)], clock)
        assert len(receiver.requests) == 1
        assert len(store.deliveries.all("dead")) == 2
        assert "410" in store.deliveries.closed()["shop"]
        receiver.behave = lambda: 200
        store.deliveries.revive()
        run_out(store, endpoint(receiver.url), clock)
        assert len(receiver.taken) == 3


def test_it_gives_up_after_the_last_delay_and_says_why(store: Store) -> None:
    keep(store, "one")
    clock = Clock()
    start = clock.now
    with running(lambda: 500) as receiver:
        run_out(store, endpoint(receiver.url), clock)
        assert len(receiver.requests) == len(DELAYS_S) + 1
    assert sum(DELAYS_S) <= clock.now - start <= sum(DELAYS_S) * (1 + JITTER)
    assert "status 500" in store.deliveries.all("dead")[0].problem


def test_a_redirect_is_not_followed(store: Store) -> None:
    keep(store, "one")
    with running(lambda: 302) as receiver:
        went = send_due(store, [endpoint(receiver.url)])
    assert went.again == 1
    assert not any("followed" in request for request in receiver.requests)
    assert "not followed" in store.deliveries.all()[0].problem


def test_a_receiver_that_is_not_there_is_tried_again(store: Store) -> None:
    keep(store, "one")
    went = send_due(store, [endpoint("http://127.0.0.1:9/records")])
    assert went.again == 1
    assert "cannot be reached" in store.deliveries.all()[0].problem


def test_an_answer_that_never_ends_is_given_up(store: Store) -> None:
    keep(store, "one")
    with running(lambda: "drip") as receiver:
        begin = time.monotonic()
        went = send_due(store, [endpoint(receiver.url, timeout_s=0.3)])
        assert time.monotonic() - begin < 5
    assert went.again == 1
    assert store.deliveries.all()[0].problem == "no whole answer within 0.6 s"


def test_a_receiver_that_is_down_does_not_keep_the_others_waiting(store: Store) -> None:
    keep(store, *(f"i{n}" for n in range(PATIENCE + 3)))
    with running(lambda: 500) as down, running() as receiver:
        both = [endpoint(down.url), endpoint(receiver.url, name="other")]
        went = send_due(store, both)
        assert (went.again, went.sent) == (PATIENCE, PATIENCE + 3)
        send_due(store, both)
        assert len(down.requests) == PATIENCE + 3  # the rest in the next round


def test_who_asks_to_wait_is_left_alone(store: Store) -> None:
    keep(store, "one", "two")
    with running(lambda: 429) as receiver:
        assert send_due(store, [endpoint(receiver.url)]).again == 1
        assert len(receiver.requests) == 1


def test_while_another_sends_nothing_is_sent(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    keep(store, "one", "two")
    store.deliveries.plan("shop")
    now = time.time()
    assert store.deliveries.claim("shop", Turn(holder="other", due_by=now, now=now, until=now + 60))
    with running() as receiver:
        assert send_due(store, [endpoint(receiver.url)]).sent == 0
        line = f"{{name: shop, url: '{receiver.url}', secret: {SECRET}}}"
        (tmp_path / "settings.yaml").write_text(f"delivery: {{endpoints: [{line}]}}")
        main(["--home", str(tmp_path), "deliver", "--send"])
        assert "shop is being sent to by another Droplight just now." in capsys.readouterr().out
        assert receiver.requests == []


def test_one_that_is_not_enabled_gets_nothing(store: Store) -> None:
    keep(store, "one")
    with running() as receiver:
        went = send_due(store, [endpoint(receiver.url, enabled=False)])
    assert went.sent == 0
    assert receiver.requests == []


def test_a_process_that_died_while_sending_is_made_up_for(store: Store) -> None:
    keep(store, "one")
    clock = Clock()
    store.deliveries.plan("shop")
    claimed = store.deliveries.claim(
        "shop", Turn(holder="dies", due_by=clock.now, now=clock.now, until=clock.now + 90)
    )
    assert claimed is not None
    with running() as receiver:
        assert send_due(store, [endpoint(receiver.url)], clock).sent == 0  # somebody may be at it
        clock.now += 91
        assert send_due(store, [endpoint(receiver.url)], clock).sent == 1
    assert list(receiver.taken) == [claimed.message]


def test_a_record_altered_in_the_database_is_not_sent(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(store, "one")
    altered = store.signed("one")
    assert altered is not None
    altered = altered.model_copy(update={"notices": ("slipped in",)})
    monkeypatch.setattr(store, "signed", lambda _: altered)
    with running() as receiver:
        went = send_due(store, [endpoint(receiver.url)])
    assert (went.given_up, receiver.requests) == (1, [])


def test_retry_after_is_obeyed_in_both_forms() -> None:
    now = 1_700_000_000.0
    assert wait_of("120", now) == 120
    assert wait_of("Tue, 14 Nov 2023 22:14:20 GMT", now) == 60
    assert wait_of("Tue, 14 Nov 2023 22:00:00 GMT", now) == 0
    assert wait_of("99999999999", now) == 86400
    for unreadable in (None, "", "soon", "-5", "1.5"):
        assert wait_of(unreadable, now) is None
    answer = answer_of(429, "7200", now)
    assert due_again(1, answer, now, lambda low, high: low) == now + 7200
    assert due_again(1, Answer(outcome="again"), now, lambda low, high: high) == now + 5 * (1 + JITTER)


@pytest.mark.parametrize(
    "url", ["file:///etc/passwd", "ftp://a/b", "http://user:key@a/", "gopher://a", "http:///x", "a.b"]
)
def test_only_web_addresses_without_a_password_are_receivers(url: str) -> None:
    with pytest.raises(ValueError, match="url"):
        endpoint(url)


def test_the_command_lists_what_was_given_up_and_sends_it_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    home = tmp_path / "home"
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    keep(store, "one")
    store.close()
    assert main(["--home", str(home), "deliver", "--send"]) == 1
    assert "No receiver is set" in capsys.readouterr().err
    with running(lambda: 422) as receiver:
        line = f"{{name: shop, url: '{receiver.url}', secret: {SECRET}}}"
        (home / "settings.yaml").write_text(f"delivery: {{endpoints: [{line}]}}")
        assert main(["--home", str(home), "deliver", "--send"]) == 1
        said = capsys.readouterr().out
        assert said.startswith("0 sent, 0 to be tried again, 1 given up.\ngiven up: one to shop: ")
        assert SECRET not in said
        receiver.behave = lambda: 200
        assert main(["--home", str(home), "deliver", "--resend"]) == 0
        assert (
            capsys.readouterr().out
            == "1 given up before, tried again.\n1 sent, 0 to be tried again, 0 given up.\n"
        )
