"""Watching the inbox: a scan is the truth, events only say that it is time for one."""

import logging
import os
import re
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import NamedTuple

from watchdog.events import FileSystemEvent, FileSystemEventHandler
from watchdog.observers import Observer
from watchdog.observers.api import BaseObserver

from capture.identity import printable_name
from capture.ingest import scan, stamp
from capture.settling import Settling, Stamp
from models.settings import WatchSettings

# Reading a folder is an event too: waking on it would make every scan cause the next.
_WAKING = {"created", "modified", "moved", "closed", "deleted"}
_NETWORK = re.compile(
    r"nfs\d?|cifs|smb\d?|smbfs|9p|afs|ncpfs|davfs|vboxsf|virtiofs|drvfs|prl_fs|fuse(blk)?\..*|fuse"
    r"|ceph|glusterfs|lustre|beegfs|gfs2|ocfs2|vmhgfs|autofs"
)
_MOUNTS = Path("/proc/self/mounts")

_SHORTEST_WAIT_S = 0.1  # a growing file sends events without end
_REST = 5.0  # times as long as a look through the folder took: ten thousand files that arrive are events too
_STOP_CHECK_S = 0.5
_MISSING_RETRY_S = 5.0
_FIRST_RETRY_S = 2.0
_LONGEST_RETRY_S = 300.0

_log = logging.getLogger("droplight.watch")


def watch(
    inbox: Path, on_file: Callable[[Path], None], settings: WatchSettings, stop: threading.Event
) -> None:
    """Hand over every file of the inbox once it has settled, until ``stop`` is set.

    Files that lie there at the start are found like new ones. A file for which ``on_file`` fails, or which it
    leaves in place, is handed over again after a growing delay, sooner when it changes. An inbox that
    vanishes (a share that is not mounted) is waited for.

    Args:
        inbox: the folder.
        on_file: takes the file away; whatever it raises is logged and never ends the watch.
        settings: how long a file has to stand still, how often to look, whether to ask for events.
        stop: ends the watch between two files.
    """
    wake = threading.Event()
    closed = _Closed()
    events = _Events(inbox, settings.mode, wake, closed)
    round_ = _Round(inbox, on_file, settings, stop, closed)
    try:
        while not stop.is_set():
            wake.clear()
            events.ensure()
            wait_s = round_.run()
            _wait(wait_s, max(_SHORTEST_WAIT_S, _REST * round_.looked_s), wake, stop)
    finally:
        events.close()


def _wait(wait_s: float, least_s: float, wake: threading.Event, stop: threading.Event) -> None:
    end = time.monotonic() + wait_s
    stop.wait(least_s)
    while not stop.is_set() and (left := end - time.monotonic()) > 0:
        if wake.wait(min(left, _STOP_CHECK_S)):
            return


def is_network_path(path: Path, mounts: str) -> bool:
    """A path lies on a file system whose changes by others send no events.

    Args:
        path: absolute, links resolved.
        mounts: text of ``/proc/self/mounts``.
    """
    best, kind = -1, ""
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        point = Path(re.sub(r"\\([0-7]{3})", lambda m: chr(int(m[1], 8)), fields[1]))
        # of two mounts on the same point the later one is seen
        if path.is_relative_to(point) and len(point.parts) >= best:
            best, kind = len(point.parts), fields[2]
    return _NETWORK.fullmatch(kind) is not None


class _Try(NamedTuple):
    stamp: Stamp
    number: int
    again_at: float


class _Closed:
    """The files that whoever wrote them has closed, as events tell.

    One that is opened again counts no longer until it is closed again; only reading it changes nothing.
    """

    def __init__(self) -> None:
        self._closed: set[Path] = set()
        self._reopened: set[Path] = set()
        self._lock = threading.Lock()

    def take(self, kind: str, path: Path, target: Path) -> None:
        """One event.

        Args:
            kind: its name.
            path: of which file.
            target: what it is called now, where the event is that it was moved.
        """
        with self._lock:
            was_closed, was_reopened = path in self._closed, path in self._reopened
            if kind in ("opened", "modified", "moved", "deleted", "closed", "closed_no_write"):
                self._closed.discard(path)
                self._reopened.discard(path)
            if kind == "closed" or (kind == "closed_no_write" and (was_closed or was_reopened)):
                self._closed.add(path)
            elif kind == "moved" and was_closed:
                self._closed.add(target)
            elif kind == "opened" and (was_closed or was_reopened):
                self._reopened.add(path)

    def so_far(self) -> frozenset[Path]:
        """Those of which it is known."""
        with self._lock:
            return frozenset(self._closed)

    def forget(self, paths: Iterable[Path]) -> None:
        """Files that are no longer there."""
        with self._lock:
            self._closed.difference_update(paths)


class _Round:
    """One look through the inbox after another."""

    def __init__(
        self,
        inbox: Path,
        on_file: Callable[[Path], None],
        settings: WatchSettings,
        stop: threading.Event,
        closed: _Closed,
    ) -> None:
        self._inbox = inbox
        self._on_file = on_file
        self._settings = settings
        self._stop = stop
        self._settling = Settling(settings.settle_s, settings.closed_s)
        self._closed = closed
        self._tries: dict[Path, _Try] = {}
        self._missing = False
        self.looked_s = 0.0

    def run(self) -> float:
        """Hand over what has settled; returns the seconds until the next look is due."""
        began = time.monotonic()
        closed = self._closed.so_far()  # before the look, which may miss what closes after it
        files = self._look()
        self.looked_s = time.monotonic() - began
        if files is None:
            return min(_MISSING_RETRY_S, self._settings.rescan_s)
        now = time.monotonic()
        self._tries = {path: t for path, t in self._tries.items() if files.get(path) == t.stamp}
        self._closed.forget(closed - files.keys())
        for path in self._settling.look(files, now, closed):
            if self._stop.is_set():
                return 0.0
            last = self._tries.get(path)
            if last is None or last.again_at <= time.monotonic():
                self._hand_over(path, files[path], 1 if last is None else last.number + 1)
        return self._next_look()

    def _look(self) -> dict[Path, Stamp] | None:
        try:
            paths = scan(self._inbox)
        except OSError as error:
            if not self._missing:
                _log.warning(
                    "The inbox %s cannot be read (%s): waiting for it.", self._inbox, error.strerror or error
                )
            self._missing = True
            return None
        if self._missing:
            _log.warning("The inbox %s is back.", self._inbox)
        self._missing = False
        files = {}
        for path in paths:
            try:
                files[path] = stamp(path)
            except OSError:
                continue  # gone since the scan
        return files

    def _hand_over(self, path: Path, seen: Stamp, number: int) -> None:
        name = printable_name(path.name)
        try:
            if stamp(path) != seen:
                return  # changed while others were taken in: it has to settle again
            self._on_file(path)
        except Exception as error:
            if isinstance(error, FileNotFoundError) and not os.path.lexists(path):
                return  # taken away by whoever put it there
            why = (str(error) or type(error).__name__).splitlines()[0]
            _log.error("%s could not be taken in and will be tried again: %s", name, why)
            _log.debug("%s", name, exc_info=True)
        # Remembered also when all went well: a file that is still there must not be taken again and again.
        delay_s = min(_FIRST_RETRY_S * 2 ** min(number - 1, 20), _LONGEST_RETRY_S)
        self._tries[path] = _Try(seen, number, time.monotonic() + delay_s)

    def _next_look(self) -> float:
        now = time.monotonic()
        waits = [t.again_at - now for t in self._tries.values()]
        if (due := self._settling.next_due(now)) is not None:
            waits.append(due)
        return max(0.0, min([*waits, self._settings.rescan_s]))


class _Waker(FileSystemEventHandler):
    def __init__(self, wake: threading.Event, closed: _Closed) -> None:
        self._wake = wake
        self._closed = closed

    def on_any_event(self, event: FileSystemEvent) -> None:
        source, target = (Path(os.fsdecode(path)) for path in (event.src_path, event.dest_path))
        self._closed.take(event.event_type, source, target)
        if event.event_type in _WAKING:
            self._wake.set()


class _Events:
    """Asks the operating system for events, and asks again when they stop coming.

    An observer says that it is alive after the thread that reads the folder has died, or when the folder was
    replaced by another of the same name; both are looked for before each scan.
    """

    def __init__(self, inbox: Path, mode: str, wake: threading.Event, closed: _Closed) -> None:
        self._inbox = inbox
        self._mode = mode
        self._wake = wake
        self._closed = closed
        self._observer: BaseObserver | None = None
        self._folder: tuple[int, int] | None = None
        self._complained = False

    def ensure(self) -> None:
        folder = self._identity()
        if self._observer is not None and folder == self._folder and self._alive(self._observer):
            return
        self.close()
        if folder is not None and self._wanted():
            self._start(folder)

    def close(self) -> None:
        observer, self._observer = self._observer, None
        if observer is not None:
            observer.stop()
            observer.join(timeout=5)

    def _identity(self) -> tuple[int, int] | None:
        try:
            found = self._inbox.stat()
        except OSError:
            return None
        return found.st_dev, found.st_ino

    @staticmethod
    def _alive(observer: BaseObserver) -> bool:
        emitters = observer.emitters
        return observer.is_alive() and bool(emitters) and all(emitter.is_alive() for emitter in emitters)

    def _wanted(self) -> bool:
        if self._mode != "auto":
            return self._mode == "native"
        try:
            return not is_network_path(self._inbox.resolve(), _MOUNTS.read_text(errors="replace"))
        except OSError:
            return True  # no such list on this system

    def _start(self, folder: tuple[int, int]) -> None:
        observer = Observer()
        try:
            observer.schedule(_Waker(self._wake, self._closed), str(self._inbox), recursive=True)
            observer.start()
        except Exception as error:  # no more watches, no such call: the rescan does without
            if not self._complained:
                _log.warning("No events for %s (%s): looking through it instead.", self._inbox, error)
            self._complained = True
            observer.stop()
            return
        self._observer, self._folder = observer, folder
        self._wake.set()  # whatever came between the last scan and now
