"""Building cases from scripts, and the demo as it is shipped."""

import json
import shutil
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from samples import demo_folder, make, speech
from samples.script import DEMO, Script, all_cases, read_script
from samples.sound import RATE, read_sound

TINY = """
topic: brakes
unit: "5"
odometer: 1200 mi
started: 2026-11-02T06:30:15
notes:
- voice: us_plain
  lines:
  - {say: Unit five., pause: 1.0}
  - say: Left front rotor one point two one inches.
    finds: [brake_rotor left front | thickness 1.21 in]
    photo: {text: "1.210", unit: in, style: caliper, after_s: 2.0}
- {voice: us_plain, start_s: 60, file: ogg, noise: compressor, snr_db: 12, lines: [{say: End of five.}]}
"""

TALKING = pytest.mark.skipif(
    not speech.available("us_plain"), reason="needs the program espeak-ng, which is not installed"
)


@pytest.fixture
def tiny(tmp_path: Path) -> Script:
    """A script of two short notes and a photo."""
    path = tmp_path / "tiny.yaml"
    path.write_text(TINY, encoding="utf-8")
    return read_script(path)


@pytest.fixture
def beeps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each sentence is a second of tone instead of speech."""
    tone = (0.1 * np.sin(np.arange(RATE) * 0.2)).astype(np.float32)
    monkeypatch.setattr(make, "speak", lambda text, voice: tone)


def exif_time(path: Path) -> str:
    """DateTimeOriginal of a photo."""
    with Image.open(path) as image:
        return str(image.getexif().get_ifd(0x8769)[0x9003])


@pytest.mark.usefixtures("beeps")
def test_a_case_folder_holds_notes_photos_and_the_expected_record(tiny: Script, tmp_path: Path) -> None:
    make.build(tiny, tmp_path / "tiny")
    inbox = tmp_path / "tiny" / "inbox"
    assert sorted(path.name for path in inbox.iterdir()) == [
        "20261102T063015.flac",
        "20261102T063115.ogg",
        "IMG_0001.jpg",
    ]
    # 0.6 s before the first line, one second of tone, one of silence: the second line begins at 2.6 s.
    assert exif_time(inbox / "IMG_0001.jpg") == "2026:11:02 06:30:19"
    assert len(read_sound(inbox / "20261102T063015.flac")) == pytest.approx(4.4 * RATE, abs=2)
    record = json.loads((tmp_path / "tiny" / "expected.json").read_text(encoding="utf-8"))
    assert record["unit"] == "5"
    assert record["odometer"] == {"value": 1200.0, "unit": "[mi_i]"}
    assert [finding["value"] for finding in record["findings"]] == [1.21]


@pytest.mark.usefixtures("beeps")
def test_building_again_gives_the_same_files(tiny: Script, tmp_path: Path) -> None:
    for name in ("a", "b"):
        make.build(tiny, tmp_path / name)
    for path in (tmp_path / "a" / "inbox").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / "inbox" / path.name).read_bytes(), path.name


@pytest.mark.usefixtures("beeps")
def test_other_noise_takes_the_place_of_the_scripts(tiny: Script, tmp_path: Path) -> None:
    make.build(tiny, tmp_path / "own")
    hiss = np.random.default_rng(1).standard_normal(RATE).astype(np.float32)
    make.build(tiny, tmp_path / "other", (hiss, 6.0))
    quiet, loud = (
        read_sound(tmp_path / name / "inbox" / "20261102T063015.flac")[: RATE // 2]
        for name in ("own", "other")
    )
    assert float(np.std(quiet)) < 1e-3
    assert float(np.std(loud)) > 0.01


def test_held_back_cases_are_built_only_when_asked_for() -> None:
    opened, held_back = make.chosen("open"), make.chosen("held_back")
    assert not any(script.held_back for script in opened)
    assert all(script.held_back for script in held_back)
    assert len(opened) + len(held_back) == len(make.chosen("all")) == len(all_cases())


def test_a_missing_program_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(shutil, "which", lambda program: None)
    assert make.main(["cases", str(tmp_path), "--only", "cab_climate"]) == 1
    assert "espeak-ng" in capsys.readouterr().err


@TALKING
def test_a_tiny_case_is_spoken(tiny: Script, tmp_path: Path) -> None:
    make.build(tiny, tmp_path / "tiny")
    spoken = read_sound(tmp_path / "tiny" / "inbox" / "20261102T063015.flac")
    assert 3 * RATE < len(spoken) < 12 * RATE
    assert float(np.max(np.abs(spoken))) > 0.05


@TALKING
def test_a_slower_voice_takes_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = speech.speak("Right rear tire, sixty psi.", "us_plain")
    monkeypatch.setitem(speech.VOICES, "slow", speech.Voice("espeak", "en-us", pace=1.8))
    assert len(speech.speak("Right rear tire, sixty psi.", "slow")) > 1.3 * len(usual)


def test_the_demo_is_small_and_complete() -> None:
    inbox = demo_folder() / "inbox"
    files = sorted(inbox.iterdir())
    assert sum(path.stat().st_size for path in files) < 3_000_000
    assert sorted(path.suffix for path in files) == [".flac", *[".jpg"] * 5, ".ogg"]
    spoken = sum(len(read_sound(path)) for path in files if path.suffix != ".jpg") / RATE
    assert spoken >= 90


def test_the_demos_expected_record_is_that_of_its_script() -> None:
    record = json.loads((demo_folder() / "expected.json").read_text(encoding="utf-8"))
    assert record == read_script(DEMO).to_expected()


def test_the_demos_photos_were_taken_while_the_notes_were_spoken() -> None:
    inbox = demo_folder() / "inbox"
    notes = [path for path in inbox.iterdir() if path.suffix != ".jpg"]
    spans = []
    for note in notes:
        begin = datetime.strptime(note.stem, "%Y%m%dT%H%M%S")  # noqa: DTZ007 - local time, as in the photos
        spans.append((begin, len(read_sound(note)) / RATE))
    for photo in inbox.glob("*.jpg"):
        taken = datetime.strptime(exif_time(photo), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
        assert any(0 <= (taken - begin).total_seconds() <= length for begin, length in spans), photo.name
