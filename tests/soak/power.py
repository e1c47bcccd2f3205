"""What a power cut may leave: every call that changes a disk is noted, and any of them may be forgotten.

The model: bytes are safe once their file was synced; before that a file may be empty, half or whole. A name
(made, removed or renamed) is safe once a folder it lies in was synced; before that each change of a name may
have happened or not, in any combination. Renaming is all or nothing. What the database committed is safe, as
``synchronous=FULL`` has it. Run the whole of it with ``python -m tests.soak.power``.
"""

import argparse
import io
import itertools
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

from capture.ingest import ingest, scan
from models.store import Store
from tests.capture.material import wav_bytes

NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)
GOOD = wav_bytes(0.1)
BAD = GOOD[:500]


class Killed(BaseException):
    """The program is gone."""


class Change(NamedTuple):
    """A change of a name: made (no source), removed (no target) or renamed."""

    source: Path | None
    target: Path | None
    inode: int


class Disk:
    """Notes what a program does below a folder, and says what may be left of it."""

    def __init__(self, root: Path, db: Path) -> None:
        self.root, self._db = root, db
        self._numbers = itertools.count(1)
        self._inode: dict[Path, int] = {}
        self._safe_names: dict[Path, int] = {}
        self._safe_bytes: dict[int, bytes] = {}
        self._bytes: dict[int, bytes] = {}
        self._pending: list[Change] = []
        self.database = b""
        self.calls: list[str] = []
        self.kill_at: int | None = None
        for path in sorted(root.rglob("*")):
            if not path.is_relative_to(db.parent / "db"):
                self._found(path)

    def _found(self, path: Path) -> None:
        number = next(self._numbers)
        self._inode[path] = self._safe_names[path] = number
        if path.is_file():
            self._bytes[number] = self._safe_bytes[number] = path.read_bytes()

    def committed(self) -> None:
        with tempfile.NamedTemporaryFile(suffix=".db") as copy:
            source, target = sqlite3.connect(self._db), sqlite3.connect(copy.name)
            source.backup(target)
            source.close()
            target.close()
            self.database = Path(copy.name).read_bytes()

    def after(self, call: str) -> None:
        self.calls.append(call)
        if self.kill_at is not None and len(self.calls) >= self.kill_at:
            raise Killed

    def made(self, path: Path) -> None:
        if path not in self._inode:
            self._inode[path] = next(self._numbers)
            self._pending.append(Change(None, path, self._inode[path]))

    def renamed(self, source: Path, target: Path) -> None:
        number = self._inode.pop(source)
        self._inode[target] = number
        self._pending.append(Change(source, target, number))

    def removed(self, path: Path) -> None:
        if (number := self._inode.pop(path, None)) is not None:
            self._pending.append(Change(path, None, number))

    def synced(self, path: Path) -> None:
        if path.is_file():
            number = self._inode[path]
            self._bytes[number] = self._safe_bytes[number] = path.read_bytes()
            return
        for change in [c for c in self._pending if path in {p.parent for p in c[:2] if p is not None}]:
            self._apply(change, self._safe_names)
            self._pending.remove(change)

    def written(self) -> None:
        """Take in what files hold now."""
        for path, number in self._inode.items():
            if path.is_file():
                self._bytes[number] = path.read_bytes()

    @staticmethod
    def _apply(change: Change, names: dict[Path, int]) -> None:
        if change.source is not None:
            names.pop(change.source, None)
        if change.target is not None:
            names[change.target] = change.inode

    def left(self, thorough: bool) -> Iterator[dict[Path, bytes | None]]:
        """Everything that a cut may leave now: bytes of files, None for folders."""
        self.written()
        count = len(self._pending)
        none_or_all: Any = ((False,) * count, (True,) * count)
        kept = itertools.product((False, True), repeat=count) if thorough else none_or_all
        for chosen in kept:
            names = dict(self._safe_names)
            for change, keep in zip(self._pending, chosen, strict=True):
                if keep:
                    self._apply(change, names)
            for share in (0, 2, 1):  # nothing, half, all of what was not synced
                yield self._state(names, share)

    def _state(self, names: dict[Path, int], share: int) -> dict[Path, bytes | None]:
        state: dict[Path, bytes | None] = {}
        for path in sorted(names):
            if path.parent != self.root and path.parent not in state:
                continue  # its folder was forgotten
            whole = self._bytes.get(names[path])
            safe = self._safe_bytes.get(names[path])
            if whole is not None and safe != whole:
                whole = whole[: len(whole) // share] if share else b""
            state[path] = whole
        return state


@contextmanager
def noted(disk: Disk, store: Store) -> Iterator[None]:
    """Every call below the disk's root goes through it."""

    def inside(path: Any) -> bool:
        return isinstance(path, str | Path) and Path(path).is_relative_to(disk.root)

    def wrap(real: Callable[..., Any], note: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **options: Any) -> Any:
            made = real(*arguments, **options)
            if inside(arguments[0]):
                note(*arguments)
                disk.after(f"{real.__name__} {Path(arguments[0]).name}")
            return made

        return call

    real_open, real_sync = io.open, os.fsync

    def opened(file: Any, mode: str = "r", *rest: Any, **options: Any) -> Any:
        made = real_open(file, mode, *rest, **options)
        if inside(file) and mode[0] in "xw":
            disk.made(Path(file))
            try:
                disk.after(f"open {Path(file).name}")
            except Killed:
                made.close()
                raise
        return made

    def sync(handle: int) -> None:
        path = Path(f"/proc/self/fd/{handle}").readlink()
        if inside(path):
            disk.written()
            disk.after(f"write {path.name}")
            real_sync(handle)
            disk.synced(path)
            disk.after(f"fsync {path.name}")

    def commit(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any) -> Any:
            made = real(*arguments)
            disk.committed()
            disk.after("commit")
            return made

        return call

    with (
        patch("io.open", opened),
        patch("os.fsync", sync),
        patch("os.mkdir", wrap(os.mkdir, lambda path, *_: disk.made(Path(path)))),
        patch("os.replace", wrap(os.replace, lambda a, b: disk.renamed(Path(a), Path(b)))),
        patch("os.unlink", wrap(os.unlink, lambda path: disk.removed(Path(path)))),
        patch.object(store, "add_capture", commit(store.add_capture)),
        patch.object(store, "add_rejection", commit(store.add_rejection)),
    ):
        yield


class Trial:
    """One file dropped and taken in on a disk that is watched."""

    def __init__(self, folder: Path, content: bytes, taken_before: bool = False) -> None:
        self.content, self._seen = content, set[bytes]()
        self.root = folder / "disk"
        self.inbox, self.home = self.root / "inbox", self.root / "home"
        (self.inbox / "417").mkdir(parents=True)
        self.home.mkdir()
        (folder / "db").mkdir()
        self.store = Store.open(f"sqlite:///{folder / 'db' / 'droplight.db'}")
        self._scratch = folder / "after"
        if taken_before:
            (self.inbox / "first.wav").write_bytes(content)
            ingest(self.inbox / "first.wav", self.inbox, self.store, self.home, NOW)
        (self.inbox / "417" / "a.wav").write_bytes(content)
        self.disk = Disk(self.root, folder / "db" / "droplight.db")
        self.disk.committed()
        self.states = 0

    def run(self, kill_at: int | None = None, thorough: bool = True, check: bool = True) -> int:
        """Take the file in, and look after every call at what a cut would leave.

        Returns:
            How many calls there were.
        """
        begun = len(self.disk.calls)
        self.disk.kill_at = None if kill_at is None else begun + kill_at
        real = self.disk.after

        def after(call: str) -> None:
            if check:
                for state in self.disk.left(thorough):
                    self.check(state, call)
            real(call)

        self.disk.after = after  # type: ignore[method-assign]
        try:
            with noted(self.disk, self.store):
                for path in scan(self.inbox):
                    ingest(path, self.inbox, self.store, self.home, NOW)
        except Killed:
            pass
        finally:
            self.disk.after = real  # type: ignore[method-assign]
        return len(self.disk.calls) - begun

    def check(self, state: dict[Path, bytes | None], call: str) -> None:
        """Build what a cut left, start again, and see that the file is somewhere once."""
        mark = sha256(repr(sorted(state.items())).encode() + self.disk.database).digest()
        if mark in self._seen:
            return
        self._seen.add(mark)
        self.states += 1
        shutil.rmtree(self._scratch, ignore_errors=True)
        self._scratch.mkdir()
        for path, content in state.items():
            target = self._scratch / path.relative_to(self.root)
            target.mkdir() if content is None else target.write_bytes(content)
        (self._scratch / "home" / "droplight.db").write_bytes(self.disk.database)
        with patch("os.fsync", lambda handle: None):
            self._start_again(call)

    def _start_again(self, call: str) -> None:
        inbox, home = self._scratch / "inbox", self._scratch / "home"
        store = Store.open(f"sqlite:///{home / 'droplight.db'}")
        try:
            for path in scan(inbox):
                ingest(path, inbox, store, home, NOW)
            where = f"after a cut behind '{call}' (calls so far: {self.disk.calls})"
            assert scan(inbox) == [], where
            captures = [c.sha256 for c in store.captures()]
            reasons = [r.name for r in store.rejections()]
            kept = [p for p in (home / "originals").rglob("*.wav")] if (home / "originals").exists() else []
            thrown = sorted(p.name for p in (inbox / "rejected").iterdir()) if reasons else []
            if self.content == GOOD:
                assert (captures, reasons) == ([sha256(GOOD).hexdigest()], []), where
                assert [p.read_bytes() for p in kept] == [GOOD], where
            else:
                assert (captures, reasons, kept) == ([], ["a.wav"], []), (captures, reasons, kept, where)
                assert thrown == ["a.wav", "a.wav.why.txt"], where
                assert (inbox / "rejected" / "a.wav").read_bytes() == BAD, where
                assert "a.wav" in (inbox / "rejected" / "a.wav.why.txt").read_text(), where
        finally:
            store.close()


def every_cut(folder: Path, content: bytes, taken_before: bool = False) -> tuple[int, int]:
    """A cut after every call of one run: calls and different states looked at."""
    trial = Trial(folder, content, taken_before)
    calls = trial.run()
    trial.store.close()
    return calls, trial.states


def every_kill_and_cut(folder: Path, content: bytes, thorough: bool, step: int = 1) -> tuple[int, int]:
    """The program killed after every few calls, started again, and the power cut after every call of that."""
    calls, states = 0, 0
    for kill_at in itertools.count(step, step):
        trial = Trial(folder / str(kill_at), content)
        first = trial.run(kill_at, check=False)
        calls += trial.run(thorough=thorough)
        trial.store.close()
        states += trial.states
        if first < kill_at:
            return calls, states
    raise AssertionError


def main() -> None:
    """The whole of it, with figures."""
    argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    ).parse_args()
    for name, content in (("a good file", GOOD), ("a bad file", BAD)):
        with tempfile.TemporaryDirectory() as folder:
            print(f"{name}: {{}} calls, {{}} states".format(*every_cut(Path(folder) / "a", content)))
            found = every_kill_and_cut(Path(folder) / "b", content, thorough=True)
            print(f"{name}, killed first: {{}} calls, {{}} states".format(*found), flush=True)
    with tempfile.TemporaryDirectory() as folder:
        print("a second copy: {} calls, {} states".format(*every_cut(Path(folder), GOOD, taken_before=True)))


if __name__ == "__main__":
    main()
