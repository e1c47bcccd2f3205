"""An inbox, a data folder and the watch between them, all to be mistreated; and what must be true of them."""

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from hashlib import sha256
from io import BytesIO
from pathlib import Path

from PIL import Image

from capture.ingest import scan
from models.store import Store
from tests.capture.material import wav_bytes

ROOT = Path(__file__).parents[2]
SETTINGS = "watch: {settle_s: 0.15, rescan_s: 0.2}\n"


def photo_bytes(number: int) -> bytes:
    buffer = BytesIO()
    Image.new("RGB", (24, 20), (number % 256, number // 256 % 256, 90)).save(buffer, "PNG")
    return buffer.getvalue()


class Yard:
    """Folders, what was dropped, and one watch at a time."""

    def __init__(self, base: Path, seed: int) -> None:
        self.inbox, self.home = base / "inbox", base / "home"
        self.control, self.log = base / "control", base / "log"
        for folder in (self.inbox, self.home, self.control):
            folder.mkdir(parents=True, exist_ok=True)
        (self.home / "settings.yaml").write_text(SETTINGS)
        (self.control / "model.bin").touch()
        self.log.touch()
        self.chance = random.Random(seed)
        self.good: dict[str, bytes] = {}
        self.bad: dict[str, bytes] = {}
        self.watcher: int | None = None
        self._count = 0
        self._driver = subprocess.Popen(
            [sys.executable, "-m", "tests.soak.driver"],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    # what people do

    def drop(self) -> None:
        """Drop one file: a note, a photo, a damaged note, or one that was dropped before."""
        n = self._count
        self._count += 1
        name = f"T{n // 6:04d}/20261120T08{n // 60 % 60:02d}{n % 60:02d}"
        kind = self.chance.random()
        if kind < 0.1 and self.good:
            content = self.chance.choice(sorted(self.good.values()))
            suffix = "png" if content.startswith(b"\x89PNG") else "wav"
            self._write(f"{name} again.{suffix}", content)
        elif kind < 0.25:
            content = wav_bytes(0.2, hertz=150 + n)[: 400 + n]
            self.bad[sha256(content).hexdigest()] = content
            self._write(f"{name} bad{n}.wav", content)
        else:
            content = wav_bytes(0.3, hertz=150 + n / 4) if kind < 0.7 else photo_bytes(n)
            self.good[sha256(content).hexdigest()] = content
            self._write(f"{name}.{'wav' if kind < 0.7 else 'png'}", content)

    def _write(self, name: str, content: bytes) -> None:
        path = self.inbox / name
        path.parent.mkdir(exist_ok=True)
        if self.chance.random() < 0.5:  # as phones do it
            part = path.with_name(f".syncthing.{path.name}.tmp")
            part.write_bytes(content)
            part.rename(path)
            return
        path.write_bytes(content)  # as copies do it; slow ones are for the tests of the watch

    # the watch

    def start(self) -> None:
        """Start the watch."""
        words = {"inbox": self.inbox, "home": self.home, "control": self.control, "log": self.log}
        assert self._driver.stdin is not None and self._driver.stdout is not None
        print(
            json.dumps({key: str(path) for key, path in words.items()}), file=self._driver.stdin, flush=True
        )
        self.watcher = int(self._driver.stdout.readline())

    def kill(self) -> None:
        """Kill the watch; its helpers must end by themselves."""
        assert self.watcher is not None
        helpers = children(self.watcher)
        with suppress(ProcessLookupError):  # it may have refused to start: then it has said why
            os.kill(self.watcher, signal.SIGKILL)
        self.watcher = None
        wait(lambda: not any(alive(helper) for helper in helpers), 20, "the helpers of a killed watch end")

    def wait_for_work(self, seconds: float) -> None:
        """Wait until the watch has said something new about a file, or so many seconds."""
        before, end = self.log.stat().st_size + 60, time.monotonic() + seconds
        while self.log.stat().st_size < before and time.monotonic() < end:
            time.sleep(0.01)

    def close(self) -> None:
        """End everything."""
        if self.watcher is not None:
            self.kill()
        self._driver.communicate(timeout=30)

    # what must be true

    @contextmanager
    def store(self) -> Iterator[Store]:
        """The store, while nobody else uses it."""
        with closing(Store.open(f"sqlite:///{self.home / 'droplight.db'}")) as store:
            yield store

    def originals(self) -> dict[str, bytes]:
        """Kept files by their name; half copies of killed programs are not among them."""
        found = (p for p in (self.home / "originals").glob("??/??/*") if p.is_file())
        return {path.stem: path.read_bytes() for path in found}

    def check_now(self) -> None:
        """After a kill: nothing is lost, nothing kept is half."""
        kept = self.originals()
        assert all(sha256(content).hexdigest() == name for name, content in kept.items())
        lying = {sha256(p.read_bytes()).hexdigest() for p in self.inbox.rglob("*") if p.is_file()}
        lost = (self.good.keys() | self.bad.keys()) - lying - kept.keys()
        assert not lost, f"{len(lost)} files are lost"
        if not (self.home / "droplight.db").exists():
            return
        with self.store() as store:
            assert {c.sha256 for c in store.captures()} <= kept.keys()
            for row in store.inspections():
                store.draft(row.id)  # a half one could not be read

    def drain(self, seconds: float) -> None:
        """Let the watch finish everything, then look at all of it."""
        if self.watcher is None:
            self.start()
        try:
            wait(lambda: not scan(self.inbox), seconds, "the inbox is emptied")
            wait(self._all_done, seconds, "everything is drafted")
        except AssertionError:
            self._tell_state()
            raise
        self.kill()
        self.check_all()

    def _tell_state(self) -> None:
        """Put into the log what hangs: files that lie there, whether the watch lives, and where it stands."""
        lying = [str(path.relative_to(self.inbox)) for path in scan(self.inbox)]
        lives = self.watcher is not None and alive(self.watcher)
        with self.log.open("a") as log:
            print(f"Lying in the inbox: {lying}; the watch {'lives' if lives else 'has ended'}.", file=log)
            print(f"Of the disk {shutil.disk_usage(self.home).free} bytes are free.", file=log)
        if lives and self.watcher is not None:
            os.kill(self.watcher, signal.SIGUSR1)  # writes where every thread stands
            time.sleep(1.0)

    def _query(self, words: str) -> list[tuple[str, ...]]:
        with closing(sqlite3.connect(self.home / "droplight.db", timeout=30)) as connection:
            return connection.execute(words).fetchall()

    def _all_done(self) -> bool:
        missing = self._query(
            "SELECT COUNT(*) FROM captures c WHERE"
            " NOT EXISTS (SELECT 1 FROM artefacts a"
            " WHERE a.owner = c.sha256 AND (a.stage IN ('notes', 'texts')"
            " OR a.stage = 'display' AND json_extract(a.payload, '$.reason') IS NULL))"
            " OR NOT EXISTS (SELECT 1 FROM drafts d"
            " WHERE d.inspection = c.inspection AND instr(d.record, c.sha256))"
        )
        return missing == [(0,)]

    def check_all(self) -> None:
        """Every file in exactly one place, every capture with one set of artefacts, in one draft."""
        self.check_now()
        assert scan(self.inbox) == []
        assert self.originals().keys() == self.good.keys()
        rejected = [p for p in (self.inbox / "rejected").glob("*") if not p.name.endswith(".why.txt")]
        found = sorted(sha256(p.read_bytes()).hexdigest() for p in rejected)
        assert found == sorted(self.bad), [p.with_name(f"{p.name}.why.txt").read_text() for p in rejected]
        assert all(p.with_name(f"{p.name}.why.txt").read_text().startswith(p.name) for p in rejected)
        assert len(list((self.inbox / "rejected").glob("*"))) == 2 * len(rejected)
        assert self._query("PRAGMA integrity_check") == [("ok",)]
        with self.store() as store:
            captures = store.captures()
            assert sorted(c.sha256 for c in captures) == sorted(self.good)
            assert sorted(r.name for r in store.rejections()) == sorted(p.name for p in rejected)
            drafts = [store.draft(row.id) for row in store.inspections()]
        drafted = Counter(c.sha256 for draft in drafts if draft is not None for c in draft.captures)
        assert drafted == Counter(self.good.keys())
        self._check_artefacts({c.sha256: c.kind for c in captures})
        said = self.log.read_text(errors="replace")
        assert "Traceback" not in said and "DRIVER" not in said, said[-3000:]

    def _check_artefacts(self, kinds: dict[str, str]) -> None:
        stages: dict[str, list[str]] = {}
        unread = set()
        for owner, stage, reason in self._query(
            "SELECT owner, stage, json_extract(payload, '$.reason') FROM artefacts"
        ):
            stages.setdefault(owner, []).append(stage)
            if stage == "display" and reason is not None:
                unread.add(owner)
        for owner, kind in kinds.items():
            found = sorted(stages.pop(owner))
            # a photo without a display is read for print as well
            also = {"texts"} if owner in unread else set()
            expected = {"notes", "transcript"} if kind == "audio" else {"display"} | also
            assert found == sorted(expected), (owner, found)
        assert stages == {}


def children(process: int) -> list[int]:
    """Processes that a process has started."""
    return [int(n) for p in Path(f"/proc/{process}/task").glob("*/children") for n in p.read_text().split()]


def alive(process: int) -> bool:
    """Whether a process runs."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def wait(condition: object, seconds: float, what: str) -> None:
    """Wait until something is true."""
    end = time.monotonic() + seconds
    while not condition():  # type: ignore[operator]
        assert time.monotonic() < end, f"{what}: not within {seconds:.0f} s"
        time.sleep(0.05)


def tone_bytes(number: int) -> bytes:
    """A short note; every number is another sound."""
    return wav_bytes(0.4, hertz=150 + number / 8)
