"""Originals are kept once, whole, under the digest of their bytes."""

import hashlib
import os
import stat
import time
from pathlib import Path

import pytest

from capture.identity import ChangedError, keep, original_path, printable_name, sha256_of

CONTENT = os.urandom(3_000_000)
DIGEST = hashlib.sha256(CONTENT).hexdigest()


@pytest.fixture
def dropped(tmp_path: Path) -> Path:
    path = tmp_path / "Note.M4A"
    path.write_bytes(CONTENT)
    return path


def all_files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.is_file())


def test_the_digest_is_that_of_the_bytes(dropped: Path) -> None:
    assert sha256_of(dropped) == DIGEST


def test_a_kept_file_is_found_by_its_digest(dropped: Path, home: Path) -> None:
    kept = keep(dropped, home / "originals", DIGEST)
    assert kept == home / "originals" / DIGEST[:2] / DIGEST[2:4] / f"{DIGEST}.m4a"
    assert kept.read_bytes() == CONTENT
    assert dropped.read_bytes() == CONTENT
    assert original_path(home, DIGEST) == kept
    assert all_files(home) == [kept]


def test_kept_again_under_another_name_it_is_still_one(dropped: Path, home: Path) -> None:
    kept = keep(dropped, home / "originals", DIGEST)
    other = dropped.rename(dropped.with_name("copy.mp4"))
    assert keep(other, home / "originals", DIGEST) == kept
    assert all_files(home) == [kept]


def test_a_kept_file_cannot_be_written_by_mistake(dropped: Path, home: Path) -> None:
    assert keep(dropped, home / "originals", DIGEST).stat().st_mode & 0o222 == 0


def test_half_an_original_is_replaced(dropped: Path, home: Path) -> None:
    kept = keep(dropped, home / "originals", DIGEST)
    kept.chmod(0o644)
    kept.write_bytes(CONTENT[:1000])
    assert keep(dropped, home / "originals", DIGEST) == kept
    assert kept.read_bytes() == CONTENT


def test_a_file_that_changed_meanwhile_is_not_kept(dropped: Path, home: Path) -> None:
    with pytest.raises(ChangedError, match="changed"):
        keep(dropped, home / "originals", "0" * 64)
    assert all_files(home) == []


def test_the_copy_is_on_disk_before_it_gets_its_name(
    dropped: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    real_sync, real_replace = os.fsync, Path.replace

    def sync(handle: int) -> None:
        order.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        real_sync(handle)

    def replace(self: Path, target: Path) -> Path:
        order.append("rename")
        return real_replace(self, target)

    keep(dropped, home / "originals", DIGEST).unlink()
    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(Path, "replace", replace)
    keep(dropped, home / "originals", DIGEST)
    assert order[:3] == ["file", "rename", "folder"]
    assert set(order[3:]) == {"folder"}  # those above it


def test_a_full_disk_leaves_nothing_half(dropped: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    (home / "originals" / "incoming").mkdir(parents=True)
    (home / "originals" / DIGEST[:2] / DIGEST[2:4]).mkdir(parents=True)
    with pytest.raises(OSError, match="No space left"):
        keep(dropped, home / "originals", DIGEST)
    assert all_files(home) == []


def test_half_copies_of_a_killed_program_are_swept_a_day_later(dropped: Path, home: Path) -> None:
    incoming = home / "originals" / "incoming"
    incoming.mkdir(parents=True)
    old, young = incoming / "old.part", incoming / "young.part"
    for part in (old, young):
        part.write_bytes(b"half")
    os.utime(old, (time.time() - 100_000,) * 2)
    keep(dropped, home / "originals", DIGEST)
    assert sorted(p.name for p in incoming.iterdir()) == ["young.part"]


@pytest.mark.parametrize("sha256", ["0" * 64, "../../etc/passwd", "", "*" * 64, DIGEST.upper()])
def test_what_is_not_kept_is_not_found(dropped: Path, home: Path, sha256: str) -> None:
    keep(dropped, home / "originals", DIGEST)
    with pytest.raises(FileNotFoundError, match="no original"):
        original_path(home, sha256)


def test_names_become_printable() -> None:
    assert printable_name("größe.m4a") == "größe.m4a"
    assert printable_name("a\nb\x1b[31m\u202e.wav") == "a\ufffdb\ufffd[31m\ufffd.wav"
    assert printable_name(b"gr\xf6.wav".decode("utf-8", "surrogateescape")) == "gr\ufffd.wav"
