"""Killed at any moment and started again, the watch loses nothing and counts nothing twice."""

import random
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


class Watcher:
    """The watch in a process of its own."""

    def __init__(self, inbox: Path, home: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "tests/capture/driver.py", str(inbox), str(home)],
            cwd=ROOT,
            env={"PYTHONPATH": str(ROOT), "PATH": ""},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == "watching\n"

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()
        assert self.process.stdout is not None
        self.process.stdout.close()


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
    for _ in range(KILLS):
        watcher = Watcher(inbox, home)
        for name, content in todo[:share]:
            (inbox / name).write_bytes(content)
            time.sleep(chance.uniform(0, 0.02))
        del todo[:share]
        time.sleep(chance.uniform(0, 0.5))
        watcher.kill()
    watcher = Watcher(inbox, home)
    end = time.monotonic() + 30
    while scan(inbox) and time.monotonic() < end:
        time.sleep(0.1)
    watcher.kill()

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
