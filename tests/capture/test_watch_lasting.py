"""What a watch meets in months: names of every encoding, temporary names, moved files, very many files."""

import os
import threading
import time
from pathlib import Path

import pytest

import capture.ingest as ingest_module
import capture.watch as watch_module
from capture.ingest import ingest, is_temporary, scan
from capture.settling import Settling
from models.capture import Capture
from models.settings import WatchSettings
from models.store import Store
from tests.capture.material import NOW, wav_bytes

NAMES = [
    b"caf\xe9.wav",
    b"\xff\xfe\x80.wav",
    "录音 一.wav".encode("gb18030"),
    "Замер.wav".encode("koi8-r"),
    b"a\nb.wav",
]


@pytest.mark.parametrize("name", NAMES, ids=range(len(NAMES)))
def test_a_name_of_any_encoding_is_taken_in(inbox: Path, store: Store, home: Path, name: bytes) -> None:
    path = Path(os.fsdecode(os.fsencode(inbox) + b"/Wagen \xfc/" + name))
    path.parent.mkdir()
    path.write_bytes(wav_bytes(0.2))
    (found,) = scan(inbox)
    taken = ingest(found, inbox, store, home, NOW)
    assert isinstance(taken, Capture)
    assert store.captures() == [taken]
    assert taken.original_name.isprintable() and taken.original_name.endswith(".wav")
    assert not os.path.lexists(path)


@pytest.mark.parametrize(
    "name",
    [
        ".syncthing.note.m4a.tmp", "~syncthing~note.m4a.tmp", ".note.m4a.3f7b2c", "note.m4a.part",
        "note.m4a.!sync", "note.m4a.drivedownload", ".pending-1700000000-note.m4a", "._note.m4a",
        ".trashed-17-note.m4a",
        ".note.m4a.icloud", "IMG_1.jpg.crdownload", "note.filepart", "~$note.m4a", "Thumbs.db", "@eaDir",
        "#recycle",
    ],
)  # fmt: skip
def test_what_a_phones_sync_has_not_finished_is_left_alone(inbox: Path, name: str) -> None:
    (inbox / name).write_bytes(b"x")
    assert is_temporary(name)
    assert scan(inbox) == []


@pytest.mark.parametrize(
    "name", ["note.sync-conflict-20261120-081500-ABCDEFG.m4a", "note (1).m4a", "temp.wav", "a~.wav"]
)
def test_a_name_that_only_looks_temporary_is_taken(name: str) -> None:
    assert not is_temporary(name)


def test_a_renamed_file_settles_anew_and_is_handed_over_once(inbox: Path) -> None:
    settling, old, new = Settling(5.0), inbox / "a.wav", inbox / "b.wav"
    old.write_bytes(b"x")
    stamp = ingest_module.stamp(old)
    assert settling.look({old: stamp}, 0.0) == []
    assert settling.look({new: stamp}, 4.0) == []
    assert settling.look({new: stamp}, 8.0) == []
    assert settling.look({new: stamp}, 9.0) == [new]


def test_a_file_moved_out_meanwhile_is_no_error(inbox: Path, caplog: pytest.LogCaptureFixture) -> None:
    (inbox / "a.wav").write_bytes(b"x")
    stop = threading.Event()

    def moved(path: Path) -> None:
        path.rename(inbox.parent / "elsewhere.wav")
        stop.set()
        path.read_bytes()

    watch_module.watch(inbox, moved, WatchSettings(settle_s=0, rescan_s=1), stop)
    # Ended at the moment of an event, the observing library tells itself about it.
    assert [r.getMessage() for r in caplog.records if not r.name.startswith("watchdog")] == []


def test_ten_thousand_files_at_the_start_are_each_handed_over_once(inbox: Path) -> None:
    for number in range(10_000):
        (inbox / f"{number:05}.wav").touch()
    seen: list[str] = []

    def take(path: Path) -> None:
        seen.append(path.name)
        path.unlink()

    settings = WatchSettings(settle_s=0, rescan_s=60)
    round_ = watch_module._Round(inbox, take, settings, threading.Event(), watch_module._Closed())
    round_.run()
    round_.run()
    assert sorted(seen) == [f"{number:05}.wav" for number in range(10_000)]


def test_a_storm_of_events_leaves_the_processor_time(inbox: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While thousands of files arrive every one is an event; looking takes at most a sixth of the time."""
    looks: list[float] = []
    stop, wakes = threading.Event(), threading.Event()

    class Always(watch_module._Events):
        def ensure(self) -> None:
            self._wake.set()  # something happens all the time

    def slow_scan(folder: Path) -> list[Path]:
        looks.append(time.monotonic())
        time.sleep(0.05)
        return []

    monkeypatch.setattr(watch_module, "_Events", Always)
    monkeypatch.setattr(watch_module, "scan", slow_scan)
    thread = threading.Thread(
        target=watch_module.watch, args=(inbox, print, WatchSettings(settle_s=1, rescan_s=60), stop)
    )
    thread.start()
    wakes.wait(1.2)
    stop.set()
    thread.join()
    assert 1 <= len(looks) <= 5


def test_what_cannot_be_looked_through_is_said_once(inbox: Path, caplog: pytest.LogCaptureFixture) -> None:
    deep = inbox
    for number in range(22):
        deep = deep / f"d{number}"
    deep.mkdir(parents=True)
    (deep / "a.wav").write_bytes(b"x")
    for _ in range(3):
        assert scan(inbox) == []
    assert caplog.text.count("folders deep and is not looked through") == 1


@pytest.mark.parametrize(
    "kind", ["nfs4", "cifs", "smb3", "fuse.sshfs", "fuse.rclone", "9p", "ceph", "glusterfs", "autofs"]
)
def test_network_file_systems_are_polled(kind: str) -> None:
    mounts = f"/dev/sda1 / ext4 rw 0 0\nserver:/x /mnt/x {kind} rw 0 0\n"
    assert watch_module.is_network_path(Path("/mnt/x/inbox"), mounts)
    assert not watch_module.is_network_path(Path("/mnt/y"), mounts)
