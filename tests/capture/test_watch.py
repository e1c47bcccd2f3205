"""The watch finds every settled file, whatever the events do, and nothing ends it but its stop."""

import shutil
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import capture.watch as watch_module
from capture.watch import is_network_path, watch
from models.settings import WatchSettings

QUICK = WatchSettings(settle_s=0.1, rescan_s=0.3)
NATIVE = WatchSettings(settle_s=0.05, rescan_s=60, mode="native")
POLLING = WatchSettings(settle_s=0.1, rescan_s=0.2, mode="polling")


class Taker:
    """Takes files away and remembers their names and sizes."""

    def __init__(self) -> None:
        self.taken: list[tuple[str, int]] = []
        self.calls: list[str] = []
        self.fails: dict[str, int] = {}
        self.leaves: set[str] = set()

    def __call__(self, path: Path) -> None:
        self.calls.append(path.name)
        if self.fails.get(path.name, 0) > 0:
            self.fails[path.name] -= 1
            raise RuntimeError(f"{path.name} is not to my taste")
        if path.name not in self.leaves:
            self.taken.append((path.name, path.stat().st_size))
            path.unlink()


@pytest.fixture
def taker() -> Taker:
    return Taker()


@pytest.fixture
def run(inbox: Path, taker: Taker) -> Iterator[Callable[[WatchSettings], threading.Event]]:
    stop = threading.Event()
    threads: list[threading.Thread] = []

    def start(settings: WatchSettings) -> threading.Event:
        thread = threading.Thread(target=watch, args=(inbox, taker, settings, stop))
        thread.start()
        threads.append(thread)
        return stop

    yield start
    stop.set()
    for thread in threads:
        thread.join(timeout=10)
        assert not thread.is_alive()


def until(condition: Callable[[], bool], seconds: float = 8.0) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "it did not happen in time"
        time.sleep(0.02)


def names(taker: Taker) -> list[str]:
    return sorted(name for name, _ in taker.taken)


@pytest.mark.parametrize("settings", [QUICK, POLLING], ids=["events", "polling"])
def test_files_there_before_and_dropped_later_are_taken(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event], settings: WatchSettings
) -> None:
    (inbox / "before.wav").write_bytes(b"x")
    run(settings)
    until(lambda: names(taker) == ["before.wav"])
    (inbox / "417").mkdir()
    (inbox / "417" / "later.wav").write_bytes(b"x")
    until(lambda: names(taker) == ["before.wav", "later.wav"])


def test_events_bring_a_moved_in_file_long_before_the_rescan(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    run(NATIVE)
    (inbox.parent / "a.wav").write_bytes(b"x")
    time.sleep(0.3)
    (inbox.parent / "a.wav").rename(inbox / "a.wav")
    until(lambda: names(taker) == ["a.wav"])
    (inbox / "b.m4a.part").write_bytes(b"x")
    (inbox / "b.m4a.part").rename(inbox / "b.m4a")
    until(lambda: names(taker) == ["a.wav", "b.m4a"])


def test_a_growing_file_is_taken_whole(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    run(WatchSettings(settle_s=0.4, rescan_s=0.3))
    with (inbox / "a.wav").open("wb") as file:
        for _ in range(8):
            file.write(b"x" * 1000)
            file.flush()
            time.sleep(0.1)
    until(lambda: bool(taker.taken))
    assert taker.taken == [("a.wav", 8000)]


def test_a_file_that_fails_is_tried_again_and_stops_nobody(
    inbox: Path,
    taker: Taker,
    run: Callable[[WatchSettings], threading.Event],
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setattr(watch_module, "_FIRST_RETRY_S", 0.1)
    taker.fails["a.wav"] = 2
    for name in ("a.wav", "b.wav"):
        (inbox / name).write_bytes(b"x")
    run(QUICK)
    until(lambda: names(taker) == ["a.wav", "b.wav"])
    assert taker.calls.count("a.wav") == 3
    assert "a.wav could not be taken in and will be tried again: a.wav is not to my taste" in caplog.text
    assert "Traceback" not in caplog.text


def test_a_file_that_is_left_lying_is_not_taken_on_and_on(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    taker.leaves.add("a.wav")
    (inbox / "a.wav").write_bytes(b"x")
    run(QUICK)
    until(lambda: taker.calls == ["a.wav"])
    time.sleep(0.9)
    assert taker.calls == ["a.wav"]
    (inbox / "a.wav").write_bytes(b"another")
    until(lambda: taker.calls == ["a.wav", "a.wav"])


@pytest.mark.parametrize("settings", [QUICK, POLLING], ids=["events", "polling"])
def test_an_inbox_that_vanishes_is_waited_for(
    inbox: Path,
    taker: Taker,
    run: Callable[[WatchSettings], threading.Event],
    caplog: pytest.LogCaptureFixture,
    settings: WatchSettings,
) -> None:
    run(settings)
    (inbox / "a.wav").write_bytes(b"x")
    until(lambda: names(taker) == ["a.wav"])
    shutil.rmtree(inbox)
    until(lambda: "waiting for it" in caplog.text)
    inbox.mkdir()
    (inbox / "b.wav").write_bytes(b"x")
    until(lambda: names(taker) == ["a.wav", "b.wav"])
    assert caplog.text.count("waiting for it") == 1


def test_events_come_again_after_the_folder_was_replaced(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    run(WatchSettings(settle_s=0.05, rescan_s=1.0, mode="native"))
    time.sleep(0.3)
    inbox.rename(inbox.with_name("old"))
    inbox.mkdir()
    (inbox / "a.wav").write_bytes(b"x")
    until(lambda: names(taker) == ["a.wav"])
    time.sleep(0.3)
    started = time.monotonic()
    (inbox / "b.wav").write_bytes(b"x")
    until(lambda: names(taker) == ["a.wav", "b.wav"])
    assert time.monotonic() - started < 0.9


def test_a_dead_emitter_is_replaced(inbox: Path) -> None:
    wake = threading.Event()
    events = watch_module._Events(inbox, "native", wake, watch_module._Closed())
    try:
        events.ensure()
        first = events._observer
        assert first is not None
        events.ensure()
        assert events._observer is first
        for emitter in first.emitters:
            emitter.stop()
            emitter.join()
        assert first.is_alive()
        events.ensure()
        assert events._observer is not None
        assert events._observer is not first
        wake.clear()
        (inbox / "a.wav").write_bytes(b"x")
        assert wake.wait(3)
    finally:
        events.close()


def test_without_events_the_rescan_does_the_work(
    inbox: Path,
    taker: Taker,
    run: Callable[[WatchSettings], threading.Event],
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    class NoMoreWatches:
        def schedule(self, *arguments: object, **options: object) -> None:
            raise OSError(28, "inotify watch limit reached")

        def stop(self) -> None: ...

    monkeypatch.setattr(watch_module, "Observer", NoMoreWatches)
    run(QUICK)
    (inbox / "a.wav").write_bytes(b"x")
    until(lambda: names(taker) == ["a.wav"])
    assert caplog.text.count("No events for") == 1


def test_reading_the_inbox_does_not_wake_the_watch(inbox: Path) -> None:
    (inbox / "a.wav").write_bytes(b"x")
    wake = threading.Event()
    events = watch_module._Events(inbox, "native", wake, watch_module._Closed())
    try:
        events.ensure()
        wake.clear()
        for _ in range(3):
            watch_module.scan(inbox)
            (inbox / "a.wav").read_bytes()
        assert not wake.wait(0.3)
    finally:
        events.close()


def test_a_stop_between_two_files_is_heard(inbox: Path) -> None:
    for number in range(5):
        (inbox / f"{number}.wav").write_bytes(b"x")
    stop, calls = threading.Event(), []

    def once(path: Path) -> None:
        calls.append(path.name)
        stop.set()

    watch(inbox, once, WatchSettings(settle_s=0, rescan_s=1), stop)
    assert len(calls) == 1


MOUNTS = r"""
/dev/sda1 / ext4 rw 0 0
server:/share /mnt/shop\040floor nfs4 rw 0 0
//nas/notes /mnt/nas cifs rw 0 0
/dev/sdb1 /mnt/nas/stick vfat rw 0 0
user@host:/ /mnt/far fuse.sshfs rw 0 0
/dev/sdc1 /mnt/disk fuseblk rw 0 0
tmpfs /twice tmpfs rw 0 0
nas:/x /twice nfs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("/home/ann/inbox", False),
        ("/mnt/shop floor/inbox", True),
        ("/mnt/shop floors", False),
        ("/mnt/nas", True),
        ("/mnt/nas/stick/inbox", False),
        ("/mnt/far/a/b", True),
        ("/mnt/disk/inbox", False),
        ("/twice/inbox", True),
    ],
)
def test_network_file_systems_are_known_by_their_mount(path: str, expected: bool) -> None:
    assert is_network_path(Path(path), MOUNTS) is expected


def test_on_a_network_file_system_no_events_are_asked_for(
    inbox: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mounts = inbox.parent / "mounts"
    mounts.write_text(f"nas:/x {inbox.parent} nfs4 rw 0 0\n")
    monkeypatch.setattr(watch_module, "_MOUNTS", mounts)
    for mode, asked in (("auto", False), ("native", True), ("polling", False)):
        events = watch_module._Events(inbox, mode, threading.Event(), watch_module._Closed())
        events.ensure()
        assert (events._observer is not None) is asked, mode
        events.close()


PATIENT = WatchSettings(settle_s=60, closed_s=0.2, rescan_s=60, mode="native")


def test_a_file_whose_writer_closed_it_is_taken_at_once(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    run(PATIENT)
    original = inbox.parent / "original.wav"
    original.write_bytes(b"x" * 1000)
    time.sleep(0.3)
    shutil.copy2(original, inbox / "copied.wav")  # sets its time after it was closed
    (inbox / "half.part").write_bytes(b"x" * 10)
    (inbox / "half.part").rename(inbox / "renamed.wav")
    until(lambda: names(taker) == ["copied.wav", "renamed.wav"])


def test_a_file_that_is_still_open_is_not_taken_as_closed(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    run(PATIENT)
    time.sleep(0.3)
    with (inbox / "slow.wav").open("wb") as file:
        file.write(b"x" * 1000)
        file.flush()
        time.sleep(1.5)
        assert names(taker) == []
    until(lambda: taker.taken == [("slow.wav", 1000)])


def test_a_file_that_was_opened_again_is_taken_when_it_is_closed_again(
    inbox: Path, taker: Taker, run: Callable[[WatchSettings], threading.Event]
) -> None:
    run(WatchSettings(settle_s=60, closed_s=1.5, rescan_s=60, mode="native"))
    time.sleep(0.3)
    (inbox / "twice.wav").write_bytes(b"x" * 10)
    with (inbox / "twice.wav").open("ab") as file:
        file.write(b"x" * 90)
        file.flush()
        time.sleep(2.5)
        assert names(taker) == []
    until(lambda: taker.taken == [("twice.wav", 100)])
