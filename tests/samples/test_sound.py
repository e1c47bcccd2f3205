"""Sound files, noise and mixing of the samples."""

from pathlib import Path

import numpy as np
import pytest

from samples.noise import NOISES, active_rms, mix, noise_row
from samples.sound import RATE, SoundError, read_sound, resample, silence, write_sound


def tone(hertz: float, seconds: float, rate: int = RATE) -> np.ndarray:
    """A sine of amplitude 0.3."""
    return (0.3 * np.sin(2 * np.pi * hertz * np.arange(round(seconds * rate)) / rate)).astype(np.float32)


def strongest(sound: np.ndarray) -> float:
    """The strongest frequency, in hertz."""
    return float(np.argmax(np.abs(np.fft.rfft(sound))) * RATE / len(sound))


@pytest.mark.parametrize("ending", ["flac", "wav", "ogg", "m4a"])
def test_what_is_written_is_read_back(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"note.{ending}"
    write_sound(path, tone(440, 1.0))
    back = read_sound(path)
    assert len(back) == pytest.approx(RATE, rel=0.15)
    assert strongest(back) == pytest.approx(440, abs=3)
    assert float(np.std(back)) == pytest.approx(0.3 / np.sqrt(2), rel=0.1)


def test_lossless_formats_keep_each_sample(tmp_path: Path) -> None:
    sound = tone(300, 0.5)
    write_sound(tmp_path / "a.flac", sound)
    assert np.max(np.abs(read_sound(tmp_path / "a.flac") - sound)) < 1e-4


def test_the_same_sound_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.ogg", "b.ogg", "c.m4a", "d.m4a"):
        write_sound(tmp_path / name, tone(500, 0.5))
    assert (tmp_path / "a.ogg").read_bytes() == (tmp_path / "b.ogg").read_bytes()
    assert (tmp_path / "c.m4a").read_bytes() == (tmp_path / "d.m4a").read_bytes()


def test_an_unknown_format_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SoundError, match=r"note\.xyz"):
        write_sound(tmp_path / "note.xyz", silence(0.1))


def test_a_file_without_sound_is_named(tmp_path: Path) -> None:
    path = tmp_path / "broken.flac"
    path.write_bytes(b"nothing of the kind")
    with pytest.raises(SoundError, match=r"broken\.flac"):
        read_sound(path)


def test_resampling_keeps_pitch_and_level() -> None:
    sound = resample(tone(440, 1.0, 22_050), 22_050)
    assert len(sound) == RATE
    assert strongest(sound) == pytest.approx(440, abs=1)
    assert float(np.std(sound)) == pytest.approx(0.3 / np.sqrt(2), rel=0.01)


@pytest.mark.parametrize("name", NOISES)
def test_noise_is_heard_and_depends_on_the_seed_alone(name: str) -> None:
    first, again, other = (NOISES[name](8.0, np.random.default_rng(seed)) for seed in (1, 1, 2))
    assert len(first) == 8 * RATE
    assert active_rms(first) > 0
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


@pytest.mark.parametrize("snr_db", [0.0, 10.0, 20.0])
def test_the_ratio_is_of_the_speech_and_not_of_its_pauses(snr_db: float) -> None:
    speech = np.concatenate([silence(3.0), tone(300, 1.0), silence(4.0)])
    noise = np.random.default_rng(5).standard_normal(RATE).astype(np.float32)
    mixed = mix(speech, noise, snr_db)
    in_the_pause = float(np.sqrt(np.mean(np.square(mixed[: 2 * RATE]))))
    scale = float(np.dot(mixed, speech) / np.dot(speech, speech))
    ratio = 20 * np.log10(scale * active_rms(speech) / in_the_pause)
    assert len(mixed) == len(speech)
    assert ratio == pytest.approx(snr_db, abs=0.5)
    assert float(np.max(np.abs(mixed))) <= 0.98 + 1e-6


def test_no_noise_leaves_the_speech_alone() -> None:
    speech = tone(300, 0.5)
    assert np.array_equal(mix(speech, silence(1.0), 10.0), speech)
    assert np.array_equal(mix(speech, silence(0.0), 10.0), speech)


def test_a_row_of_noises_has_one_level(tmp_path: Path) -> None:
    write_sound(tmp_path / "a.wav", tone(200, 1.0))
    write_sound(tmp_path / "b.wav", tone(900, 1.0) * np.float32(0.05))
    row = noise_row(tmp_path)
    assert active_rms(row[:RATE]) == pytest.approx(active_rms(row[RATE:]), rel=0.02)


def test_a_folder_without_sound_is_named(tmp_path: Path) -> None:
    with pytest.raises(SoundError, match="holds no sound"):
        noise_row(tmp_path)
