"""Decoding sound: every kind, to the end, and refusal of what is cut, damaged or no sound."""

import struct
import tempfile
import wave
from pathlib import Path

import av
import numpy as np
import pytest

import capture.media.sound as sound
from capture.media import UnreadableMedia, audio_blocks, load_audio, probe, write_review_audio
from tests.capture.material import amr_bytes, encoded, in_3gp, tone, wav_bytes

SPEECH = 0
KINDS = {
    "note.wav": lambda: wav_bytes(2.0, rate=44_100),
    "note.flac": lambda: encoded("flac", "flac"),
    "note.m4a": lambda: encoded("ipod", "aac"),
    "note.aac": lambda: encoded("adts", "aac"),
    "note.ogg": lambda: encoded("ogg", "libopus"),
    "note.OPUS": lambda: encoded("ogg", "libopus"),
    "note.mp3": lambda: encoded("mp3", "libmp3lame"),
    "note.webm": lambda: encoded("webm", "libopus", rate=48_000),
    "note.amr": lambda: amr_bytes([SPEECH] * 100),
    "note.3gp": lambda: in_3gp(amr_bytes([SPEECH] * 100)),
}


def dropped(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def strongest(heard: np.ndarray) -> int:
    """The strongest frequency of the second second, in hertz."""
    return int(np.abs(np.fft.rfft(heard[8_000:24_000] * np.hanning(16_000))).argmax())


def refusal(path: Path) -> str:
    with pytest.raises(UnreadableMedia) as caught:
        probe(path, "")
    return str(caught.value)


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_is_decoded_to_its_end(tmp_path: Path, name: str) -> None:
    path = dropped(tmp_path, name, KINDS[name]())
    capture = probe(path, "417")
    heard = load_audio(path)
    assert capture.kind == "audio"
    assert capture.folder == "417"
    assert capture.duration_s == pytest.approx(2.0, abs=0.15)
    assert heard.dtype == np.float32
    assert heard.ndim == 1
    assert heard.size == round(capture.duration_s * 16_000)
    assert np.abs(heard).max() <= 1.5


@pytest.mark.parametrize("name", ["note.wav", "note.flac", "note.m4a", "note.ogg", "note.mp3", "note.webm"])
def test_the_tone_is_still_the_tone(tmp_path: Path, name: str) -> None:
    heard = load_audio(dropped(tmp_path, name, KINDS[name]()))
    assert strongest(heard) == pytest.approx(440, abs=2)


@pytest.mark.parametrize("name", [*KINDS, "faststart.m4a", "fragments.m4a"])
@pytest.mark.parametrize("share", [0.5, 0.9])
def test_a_file_that_was_cut_off_is_refused(tmp_path: Path, name: str, share: float) -> None:
    whole = KINDS[name]() if name in KINDS else _mp4(name)
    path = dropped(tmp_path, name, whole)
    assert probe(path, "").duration_s == pytest.approx(2.0, abs=0.15)
    path.write_bytes(whole[: int(len(whole) * share)])
    assert "ends early" in refusal(path)
    assert "again" in refusal(path)


def _mp4(name: str) -> bytes:
    flags = {"faststart.m4a": "faststart", "fragments.m4a": "frag_keyframe+empty_moov"}[name]
    with tempfile.TemporaryDirectory() as folder:  # a written file is read again to move its index
        path = Path(folder) / name
        with av.open(str(path), "w", format="ipod", options={"movflags": flags}) as output:
            stream = output.add_stream("aac", rate=16_000, layout="mono")
            frame = av.AudioFrame.from_ndarray(tone(2.0)[None], format="fltp", layout="mono")
            frame.rate = 16_000
            output.mux(stream.encode(frame))
            output.mux(stream.encode(None))
        return path.read_bytes()


def test_damage_in_the_middle_is_refused(tmp_path: Path) -> None:
    for name in ("note.flac", "note.m4a", "note.ogg", "note.webm", "note.aac"):
        content = bytearray(KINDS[name]())
        middle = len(content) // 2
        del content[middle : middle + 400]
        assert "again" in refusal(dropped(tmp_path, name, bytes(content))), name


def test_flipped_bits_are_found_where_the_container_has_checksums(tmp_path: Path) -> None:
    for name in ("note.ogg", "note.flac"):
        for share in (0.3, 0.6, 0.95):
            content = bytearray(KINDS[name]())
            content[int(len(content) * share)] ^= 0x55
            assert "again" in refusal(dropped(tmp_path, name, bytes(content))), (name, share)


def test_empty_text_and_soundless_files_each_have_their_sentence(tmp_path: Path) -> None:
    assert "is empty" in refusal(dropped(tmp_path, "a.wav", b""))
    text = b"Left front outer pad six millimetres.\n" * 50
    for name in ("a.wav", "a.m4a", "a.mp3", "a.ogg", "a.amr"):
        assert "sound" in refusal(dropped(tmp_path, name, text)), name
    assert "holds no sound" in refusal(dropped(tmp_path, "b.wav", wav_bytes(0.0)))
    assert "not of a kind" in refusal(dropped(tmp_path, "b.pdf", b"%PDF"))


def test_sentences_name_the_file_on_one_line(tmp_path: Path) -> None:
    sentence = refusal(dropped(tmp_path, "a\nb.wav", b"x" * 100))
    assert "\n" not in sentence
    assert "b.wav" in sentence


def test_a_playlist_is_not_followed(tmp_path: Path) -> None:
    real = dropped(tmp_path, "real.wav", wav_bytes(1.0))
    script = f"ffconcat version 1.0\nfile '{real}'\n".encode()
    assert "does not hold sound" in refusal(dropped(tmp_path, "list.wav", script))
    playlist = f"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n{real}\n#EXT-X-ENDLIST\n".encode()
    assert "does not hold sound" in refusal(dropped(tmp_path, "list.aac", playlist))


def test_a_recorder_that_cannot_fill_the_size_in_is_read(tmp_path: Path) -> None:
    content = bytearray(wav_bytes(1.0))
    content[4:8] = content[40:44] = struct.pack("<I", 0xFFFFFFFF)
    assert probe(dropped(tmp_path, "pipe.wav", bytes(content)), "").duration_s == pytest.approx(1.0)


def test_a_tag_after_the_sound_does_no_harm(tmp_path: Path) -> None:
    tag = b"TAG" + b"note".ljust(125, b"\0")
    for name in ("note.mp3", "note.ogg", "note.wav"):
        path = dropped(tmp_path, name, KINDS[name]() + tag)
        assert probe(path, "").duration_s == pytest.approx(2.0, abs=0.1), name


def test_pauses_of_a_phone_keep_their_length(tmp_path: Path) -> None:
    kinds = [SPEECH] * 50 + [8] + [15] * 49 + [SPEECH] * 50
    path = dropped(tmp_path, "note.amr", amr_bytes(kinds))
    assert probe(path, "").duration_s == pytest.approx(3.0, abs=0.01)
    assert not load_audio(path)[int(1.2 * 16_000) : int(1.8 * 16_000)].any()


def test_several_channels_become_one(tmp_path: Path) -> None:
    path = tmp_path / "stereo.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(8_000)
        file.writeframes(np.tile(np.array([8192, 16384], "<i2"), 8_000).tobytes())
    middle = load_audio(path)[4_000:12_000]
    assert middle == pytest.approx(0.375, abs=0.01)


def test_blocks_are_the_whole_in_equal_pieces(tmp_path: Path) -> None:
    path = dropped(tmp_path, "note.flac", KINDS["note.flac"]())
    blocks = list(audio_blocks(path, 0.3))
    assert [b.size for b in blocks[:-1]] == [4_800] * (len(blocks) - 1)
    assert 0 < blocks[-1].size <= 4_800
    assert np.array_equal(np.concatenate(blocks), load_audio(path))


def test_sound_that_is_too_long_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sound, "LONGEST_S", 1.5)
    for name in ("note.flac", "note.amr"):  # one states its length, the other does not
        with pytest.raises(UnreadableMedia, match="longer than"):
            sound.probe_sound(dropped(tmp_path, name, KINDS[name]()))


def test_the_review_copy_is_aac_in_mp4_of_the_same_length(tmp_path: Path) -> None:
    path = dropped(tmp_path, "note.ogg", KINDS["note.ogg"]())
    target = tmp_path / "review.m4a"
    write_review_audio(path, target)
    with av.open(str(target)) as container:
        assert container.streams.audio[0].codec_context.name == "aac"
    assert probe(target, "").duration_s == pytest.approx(2.0, abs=0.15)
    head = target.read_bytes()
    assert head.index(b"moov") < head.index(b"mdat")
    assert strongest(load_audio(target)) == pytest.approx(440, abs=2)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["note.ogg", "review.m4a"]


def test_no_review_copy_of_a_broken_file(tmp_path: Path) -> None:
    content = KINDS["note.flac"]()
    path = dropped(tmp_path, "note.flac", content[: len(content) // 2])
    with pytest.raises(UnreadableMedia):
        write_review_audio(path, tmp_path / "review.m4a")
    assert [p.name for p in tmp_path.iterdir()] == ["note.flac"]


def test_a_file_that_is_not_there_is_no_broken_file(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        probe(tmp_path / "gone.wav", "")


def test_a_name_in_foreign_bytes_is_read(tmp_path: Path) -> None:
    path = tmp_path / b"gr\xf6\xdfe.wav".decode("utf-8", "surrogateescape")
    try:
        path.write_bytes(wav_bytes(0.2))
    except OSError:
        pytest.skip("this file system takes only UTF-8 names")
    capture = probe(path, "")
    assert capture.original_name.encode("utf-8")
    assert capture.original_name.endswith("e.wav")
