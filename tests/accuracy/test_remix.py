"""Remixing recordings of cases with noise."""

import os
from pathlib import Path

import numpy as np
import pytest

from samples.noise import active_rms
from samples.sound import RATE, read_sound, write_sound
from tests.accuracy import remix


def a_case(folder: Path) -> Path:
    """A case with one recording and one photo."""
    inbox = folder / "one" / "inbox"
    inbox.mkdir(parents=True)
    tone = (0.2 * np.sin(np.arange(RATE) * 0.2)).astype(np.float32)
    quiet = np.zeros(2 * RATE, dtype=np.float32)
    write_sound(inbox / "20261102T063015.flac", np.concatenate([quiet, tone]))
    os.utime(inbox / "20261102T063015.flac", (1_700_000_000, 1_700_000_000))
    (inbox / "IMG_0001.jpg").write_bytes(b"a picture")
    (folder / "one" / "expected.json").write_text("{}")
    return folder


def a_noise(folder: Path) -> Path:
    """A folder with one second of hiss."""
    folder.mkdir()
    hiss = 0.1 * np.random.default_rng(3).standard_normal(RATE)
    write_sound(folder / "hiss.wav", hiss.astype(np.float32))
    return folder


def test_recordings_get_noise_and_the_rest_is_copied(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = a_case(tmp_path / "cases"), tmp_path / "out"
    assert remix.main([str(cases), str(out), "--noise", str(a_noise(tmp_path / "noise")), "--snr", "10"]) == 0
    assert "1 recordings at 10 dB" in capsys.readouterr().out
    note = out / "one" / "inbox" / "20261102T063015.flac"
    before, after = read_sound(cases / "one" / "inbox" / note.name), read_sound(note)
    assert len(after) == len(before)
    in_the_pause = float(np.sqrt(np.mean(np.square(after[: RATE * 3 // 2]))))
    assert 20 * np.log10(active_rms(before) / in_the_pause) == pytest.approx(10, abs=0.5)
    assert note.stat().st_mtime == 1_700_000_000
    assert (out / "one" / "inbox" / "IMG_0001.jpg").read_bytes() == b"a picture"
    assert (out / "one" / "expected.json").exists()


def test_a_recording_keeps_the_time_in_its_container(tmp_path: Path) -> None:
    source, target = tmp_path / "note.m4a", tmp_path / "out.m4a"
    tone = (0.2 * np.sin(np.arange(RATE) * 0.2)).astype(np.float32)
    write_sound(source, tone, {"creation_time": "2026-11-02T06:30:15.000000Z"})
    remix.remix_recording(source, target, tone[::-1].copy(), 5.0)
    assert remix.container_metadata(source) == {"creation_time": "2026-11-02T06:30:15.000000Z"}
    assert remix.container_metadata(target) == remix.container_metadata(source)


def test_a_folder_without_noise_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "empty").mkdir()
    cases = a_case(tmp_path / "cases")
    assert remix.main([str(cases), str(tmp_path / "out"), "--noise", str(tmp_path / "empty")]) == 1
    assert "holds no sound" in capsys.readouterr().err
