"""Killed at any moment and started again, the watch loses nothing and counts nothing twice."""

import os
import random
import signal
import subprocess
import sys
import time
from hashlib import sha256
from pathlib import Path

import pytest

from capture.ingest import scan
from models.store import Store
from tests.capture.material import wav_bytes

ROOT = Path(__file__).parents[2]
KILLS = 10


class Watchers:
    """The watch in processes of their own, one after another."""

    def __init__(self, inbox: Path, home: Path) -> None:
        self._driver = subprocess.Popen(
            [sys.executable, "tests/capture/driver.py", str(inbox), str(home)],
            cwd=ROOT,
            env={"PYTHONPATH": str(ROOT), "PATH": ""},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self) -> int:
        print("go", file=self._driver.stdin, flush=True)
        assert self._driver.stdout is not None
        return int(self._driver.stdout.readline())

    def close(self) -> None:
        self._driver.communicate(timeout=10)


@pytest.mark.timeout(120)
def test_kill_at_ten_random_moments(inbox: Path, home: Path) -> None:
    chance = random.Random(417)
    good, bad = {}, []
    for number in range(60):
        content = wav_bytes(0.3, hertz=200 + number)
        good[f"{number:02}.wav"] = content
    for number in range(8):
        bad.append((f"bad{number}.wav", good["00.wav"][: 400 + number]))
    todo = [*good.items(), *bad, ("again.wav", good["07.wav"])]
    chance.shuffle(todo)
    share = len(todo) // KILLS + 1
    watchers = Watchers(inbox, home)
    for _ in range(KILLS):
        watcher = watchers.start()
        for name, content in todo[:share]:
            (inbox / name).write_bytes(content)
            time.sleep(chance.uniform(0, 0.01))
        del todo[:share]
        time.sleep(chance.uniform(0.05, 0.45))
        os.kill(watcher, signal.SIGKILL)
    watcher = watchers.start()
    end = time.monotonic() + 30
    while scan(inbox) and time.monotonic() < end:
        time.sleep(0.1)
    os.kill(watcher, signal.SIGKILL)
    watchers.close()

    assert scan(inbox) == []
    digests = sorted(sha256(content).hexdigest() for content in good.values())
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    assert sorted(capture.sha256 for capture in store.captures()) == digests
    assert sorted(r.name for r in store.rejections()) == sorted(name for name, _ in bad)
    assert store.sightings(sha256(good["07.wav"]).hexdigest()) >= 1
    store.close()
    kept = [p for p in (home / "originals").rglob("*") if p.is_file() and p.suffix != ".part"]
    assert sorted(p.stem for p in kept) == digests
    assert all(sha256(p.read_bytes()).hexdigest() == p.stem for p in kept)
    expected = {name for name, _ in bad} | {f"{name}.why.txt" for name, _ in bad}
    assert {p.name for p in (inbox / "rejected").iterdir()} == expected
