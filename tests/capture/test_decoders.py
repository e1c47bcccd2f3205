"""A bad file takes nothing down: its own process falls, and it is rejected with one sentence."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import capture.media as media
from capture.ingest import ingest
from capture.media import UnreadableMedia, audio_blocks, load_audio, load_photo, probe, write_review_photo
from capture.media.apart import Allowance, Decoders
from models.capture import Capture, Rejection
from models.store import Store
from tests.capture.material import NOW, encoded, wav_bytes

ROOT = Path(__file__).parents[2]
FALLS = {
    "crash.wav": "makes its decoder crash",
    "hang.wav": "was not read to its end within 1 second(s)",
    "spin.wav": "was not read to its end within 1 second(s)",
    "swell.wav": "needs more than 1 GB of memory",
    "odd.wav": "cannot be read (ZeroDivisionError)",
}


class Fallible(Decoders):
    """Decoders whose process does what the name of the file says, before it decodes."""

    module = "tests.capture.fallible_decoder"


@pytest.fixture
def fallible(monkeypatch: pytest.MonkeyPatch) -> Iterator[Decoders]:
    made = Fallible(Allowance(cpu_s=1.0, cpu_s_per_mb=0.0, memory=1 << 30))
    monkeypatch.setattr(media, "decoders", made)
    yield made
    made.close()


@pytest.mark.parametrize("name", FALLS)
def test_each_fall_rejects_the_file_and_the_next_is_taken(
    inbox: Path, store: Store, home: Path, fallible: Decoders, name: str
) -> None:
    (inbox / name).write_bytes(wav_bytes(0.3))
    (inbox / "good.wav").write_bytes(wav_bytes(0.4))
    found = ingest(inbox / name, inbox, store, home, NOW)
    assert isinstance(found, Rejection)
    assert found.reason.startswith(f"{name} {FALLS[name]}")
    assert "\n" not in found.reason
    assert found.reason in (inbox / "rejected" / f"{name}.why.txt").read_text()
    assert isinstance(ingest(inbox / "good.wav", inbox, store, home, NOW), Capture)


def test_one_crash_is_forgiven_because_an_earlier_file_may_have_caused_it(
    tmp_path: Path, fallible: Decoders
) -> None:
    path = tmp_path / "crash once.wav"
    path.write_bytes(wav_bytes(0.3))
    assert probe(path, "").duration_s == pytest.approx(0.3, abs=0.01)
    assert (tmp_path / "crash once.wav.crashed").exists()


def test_a_process_that_the_system_ends_is_not_the_files_fault(
    inbox: Path, store: Store, home: Path, fallible: Decoders
) -> None:
    (inbox / "killed.wav").write_bytes(wav_bytes(0.3))
    with pytest.raises(OSError, match=r"killed\.wav was ended from outside"):
        ingest(inbox / "killed.wav", inbox, store, home, NOW)
    assert (inbox / "killed.wav").exists()
    assert store.rejections() == []


def test_a_half_written_copy_of_a_fallen_process_is_removed(tmp_path: Path, fallible: Decoders) -> None:
    path = tmp_path / "crash.jpg"
    Image.new("RGB", (20, 20)).save(path)
    (tmp_path / ".copy.jpg.part").write_bytes(b"half")
    with pytest.raises(UnreadableMedia, match=r"crash\.jpg makes its decoder crash"):
        write_review_photo(path, tmp_path / "copy.jpg")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["crash.jpg"]


def test_a_crash_in_the_middle_of_a_sound_is_said(tmp_path: Path, fallible: Decoders) -> None:
    path = tmp_path / "crash late.wav"
    path.write_bytes(wav_bytes(1.0))
    blocks = audio_blocks(path, 0.25)
    assert next(blocks).size == 4000
    with pytest.raises(UnreadableMedia, match="makes its decoder crash"):
        list(blocks)


def test_a_hang_holds_up_no_other_file(tmp_path: Path, fallible: Decoders) -> None:
    for name in ("hang.wav", "good.wav"):
        (tmp_path / name).write_bytes(wav_bytes(0.3))
    failed: list[Exception] = []

    def hang() -> None:
        try:
            probe(tmp_path / "hang.wav", "")
        except UnreadableMedia as error:
            failed.append(error)

    thread = threading.Thread(target=hang)
    thread.start()
    time.sleep(0.1)
    assert probe(tmp_path / "good.wav", "").kind == "audio"
    assert failed == []
    thread.join()
    assert len(failed) == 1


def test_what_the_process_sends_is_what_is_in_the_file(tmp_path: Path) -> None:
    from capture.media import photos, sound

    note, photo = tmp_path / "a.flac", tmp_path / "a.png"
    note.write_bytes(encoded("flac", "flac", 1.5))
    Image.fromarray(np.arange(3 * 31 * 17, dtype=np.uint8).reshape(31, 17, 3)).save(photo)
    assert np.array_equal(load_audio(note), sound.load_audio(note))
    assert np.array_equal(load_photo(photo), photos.load_photo(photo))


def test_limits_grow_with_the_file_to_an_end() -> None:
    allowance = Allowance()
    assert allowance.for_size(0) == 30
    assert allowance.for_size(10_000_000) == 130
    assert allowance.for_size(10_000_000_000) == 900


def test_an_interrupt_at_the_terminal_does_not_end_a_decoder(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(wav_bytes(2.0))
    script = (
        "import os, signal, sys, pathlib, capture.media as m\n"
        "signal.signal(signal.SIGINT, lambda *_: None)\n"
        "blocks = m.audio_blocks(pathlib.Path(sys.argv[1]), 0.5)\n"
        "next(blocks)\n"
        "os.killpg(0, signal.SIGINT)\n"
        "print(1 + sum(1 for _ in blocks))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        start_new_session=True,
    )
    assert (done.stdout, done.stderr) == ("4\n", "")
    assert signal.getsignal(signal.SIGINT) is not None
