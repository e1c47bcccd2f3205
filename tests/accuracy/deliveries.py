"""Thousands of deliveries to a receiver that fails in every way, by senders that are killed.

    python -m tests.accuracy.deliveries --count 10000

Two sender processes run at once against one store, as ``droplight watch`` and ``droplight review`` do, and
are killed with SIGKILL in the middle; so is the receiver, which keeps what it takes in a file. It answers
200, 500, 503, 429 with Retry-After, 409, 422 and now and then 410, keeps quiet until the sender gives up,
drips its answer byte by byte, and closes the connection after it took the record, before and in the middle of
its answer. Time between attempts is skipped: each round begins some hours after the next delivery is due.

Fails unless every record was taken in once, or is among the dead letters; and what says that it was sent was
taken in with the very bytes that were signed.
"""

import argparse
import hashlib
import json
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import insert

from models.record import Finding, Inspection, Record, Review
from models.settings import EndpointSettings
from models.signing import canonical_bytes, sign
from models.store import Store
from models.store import tables as t
from pipelines.delivery import sending
from tests.accuracy.faulty_receiver import ANSWER

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
TIMEOUT_S = 0.5
STRIDE_S = 6 * 3600.0
LEASE_S = 1.0
"""A minute in earnest: what a killed sender had in hand comes free after this long."""
RECEIVER = Path(__file__).with_name("faulty_receiver.py")
ROOT = Path(__file__).parents[2]


FAULTS = {
    "quiet": "no answer before the time was up",
    "drip": "an answer dripped beyond its time",
    "500": "answer 500",
    "503": "answer 503",
    "429": "answer 429 with Retry-After",
    "409": "answer 409",
    "422": "answer 422",
    "410": "answer 410",
    "close": "taken in, closed before the answer",
    "cut": "taken in, closed in the middle of the answer's body",
    "refuse": "not taken in, closed before the answer",
}


class Outcome(NamedTuple):
    """What became of all records: counts; ``faults`` by what happened."""

    sent: int
    dead: int
    taken: int
    twice: int
    altered: int
    lost: int
    repeats: int
    requests: int
    rounds: int
    faults: dict[str, int]

    @property
    def holds(self) -> bool:
        return self.twice == self.altered == self.lost == 0


def fill(store: Store, count: int) -> dict[str, str]:
    """Signed records in the store; inspection -> SHA-256 of the bytes that must arrive."""
    expected: dict[str, str] = {}
    rows: list[tuple[dict, dict]] = []
    review = Review(state="confirmed", by="A", at=AT)
    for n in range(count):
        id = f"00000000-0000-4000-8000-{n:012d}"
        finding = Finding(id=f"f{n}", component="brake_pad", confidence=1, review=review)
        record = sign(
            Record(inspection=Inspection(id=id, started_at=AT, ended_at=AT), findings=(finding,)), "A", AT
        )
        body = canonical_bytes(record.to_json())
        expected[id] = hashlib.sha256(body).hexdigest()
        head = {"id": id, "folder": "", "started_at": AT, "ended_at": AT, "state": "signed", "version": 1}
        kept = {"inspection": id, "record": json.dumps(record.to_json()), "chain": ""}
        rows.append((head, kept))
    with store._db.write() as connection:  # as signing does it, all in one transaction
        connection.execute(insert(t.inspections), [head for head, _ in rows])
        connection.execute(insert(t.signed_records), [kept for _, kept in rows])
        connection.execute(insert(t.outbox), [{"inspection": kept["inspection"]} for _, kept in rows])
    return expected


def endpoint(port: int) -> EndpointSettings:
    return EndpointSettings(name="shop", url=f"http://127.0.0.1:{port}/", secret=SECRET, timeout_s=TIMEOUT_S)


def send_round(url: str, port: int, ahead_s: float) -> None:
    """What one sender process does: try all that is due, waiting for its turn while another sends."""
    sending.LEASE_S = LEASE_S
    store = Store.open(url)

    def clock() -> float:
        return time.time() + ahead_s

    start = clock()
    while (due := store.deliveries.next_due("shop")) is None or due <= start:
        went = sending.send_due(store, [endpoint(port)], clock)
        if store.deliveries.next_due("shop") is None:
            break
        if went.sent + went.again + went.given_up == 0:
            time.sleep(0.05)
    store.close()


class _Programs:
    """The receiver and the senders as processes that can be killed."""

    def __init__(self, folder: Path, url: str, seed: int) -> None:
        self._folder, self._url, self._seed = folder, url, seed
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.log = folder / "taken.txt"
        self.killed: Counter[str] = Counter()
        self._receiver = self._start_receiver()

    def _start_receiver(self) -> subprocess.Popen[bytes]:
        self._seed += 1
        command = [sys.executable, str(RECEIVER), str(self.port), str(self.log), str(self._seed)]
        started = subprocess.Popen(command, stdout=subprocess.PIPE)
        assert started.stdout is not None
        with started.stdout as said:
            said.readline()  # it answers
        return started

    def sender(self, ahead_s: float) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "tests.accuracy.deliveries", "--send", self._url]
        return subprocess.Popen([*command, str(self.port), str(ahead_s)], cwd=ROOT)

    def kill(self, process: subprocess.Popen[bytes], who: str = "sender killed") -> None:
        if process.poll() is None:
            process.send_signal(signal.SIGKILL)
            self.killed[who] += 1

    def kill_receiver(self) -> None:
        self.kill(self._receiver, "receiver killed")
        self._receiver.wait()
        self._receiver = self._start_receiver()

    def end(self) -> None:
        self._receiver.kill()
        self._receiver.wait()


def _one_round(programs: _Programs, rng: random.Random, ahead_s: float, kills: bool) -> None:
    senders = [programs.sender(ahead_s), programs.sender(ahead_s)]
    while any(s.poll() is None for s in senders):
        time.sleep(rng.uniform(0.5, 3.0))
        if not kills:
            continue
        if rng.random() < 0.25:
            programs.kill_receiver()
        for sender in senders:
            if rng.random() < 0.15:
                programs.kill(sender)
    for sender in senders:
        sender.wait()


def run(count: int, seed: int, folder: Path, kill_rounds: int = 12) -> Outcome:
    """Deliver ``count`` records and count what became of them.

    Args:
        count: records.
        seed: of the order of faults.
        folder: for the database and the receiver's file.
        kill_rounds: in so many rounds processes are killed.
    """
    url = f"sqlite:///{folder / 'droplight.db'}"
    store = Store.open(url)
    expected = fill(store, count)
    store.deliveries.plan("shop")
    rng = random.Random(seed)
    programs = _Programs(folder, url, seed)
    ahead_s, rounds, revived = 0.0, 0, 0
    try:
        while True:
            if store.deliveries.closed() and revived < 30:  # it said 410: a person sends all again
                store.deliveries.revive()
                revived += 1
            due = store.deliveries.next_due("shop")
            if due is None:
                break
            ahead_s = max(ahead_s, due - time.time()) + STRIDE_S
            _one_round(programs, rng, ahead_s, rounds < kill_rounds)
            rounds += 1
    finally:
        programs.end()
    outcome = _counted(store, expected, programs, rounds)
    store.close()
    return outcome


def _counted(store: Store, expected: dict[str, str], programs: _Programs, rounds: int) -> Outcome:
    rows = store.deliveries.all()
    lines = [line.split() for line in programs.log.read_text().splitlines()]
    new = [(message, sha256) for kind, message, sha256 in lines if kind == "new"]
    times, bodies = Counter(message for message, _ in new), dict(new)
    states = Counter(row.state for row in rows)
    known = {row.inspection for row in rows}
    altered = sum(1 for r in rows if r.message in bodies and bodies[r.message] != expected[r.inspection])
    unsent = sum(1 for row in rows if row.state == "sent" and row.message not in bodies)
    answers = Counter(kind.removeprefix(ANSWER) for kind, *_ in lines if kind.startswith(ANSWER))
    strange = sum(
        1 for row in rows if row.state not in {"sent", "dead"} or (row.state == "dead") > bool(row.problem)
    )
    return Outcome(
        sent=states["sent"],
        dead=states["dead"],
        taken=len(times),
        twice=sum(1 for n in times.values() if n > 1) + len(rows) - len({row.message for row in rows}),
        altered=altered + sum(1 for kind, *_ in lines if kind == "clash"),
        lost=len(expected) - len(known) + unsent + strange,
        repeats=sum(1 for kind, *_ in lines if kind == "again"),
        requests=answers.total(),
        rounds=rounds,
        faults={words: answers[kind] for kind, words in FAULTS.items()} | programs.killed,
    )


def main() -> int:
    """Print the counts; 1 when a record was lost, altered or taken in twice."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=20261120)
    parser.add_argument("--send", nargs=3, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.send:
        send_round(args.send[0], int(args.send[1]), float(args.send[2]))
        return 0
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        outcome = run(args.count, args.seed, Path(folder))
    counts = ", ".join(f"{name} {n}" for name, n in outcome._asdict().items() if name != "faults")
    print(
        f"{args.count} records in {time.monotonic() - begin:.0f} s on {os.cpu_count()} processors: {counts}"
    )
    for fault, times in outcome.faults.items():
        print(f"{times:7} {fault}")
    return 0 if outcome.holds else 1


if __name__ == "__main__":
    sys.exit(main())
