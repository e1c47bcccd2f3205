"""Sound files of the samples: reading, writing and resampling, always one channel of 16 kHz.

Everything here works on ``numpy`` arrays of ``float32`` between -1 and 1.
"""

from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

RATE = 16_000

Sound = NDArray[np.float32]

# Encoder and bit rate (bits per second, 0: lossless) by the ending of the file's name.
_ENCODERS = {
    ".flac": ("flac", 0),
    ".wav": ("pcm_s16le", 0),
    ".ogg": ("libopus", 20_000),
    ".m4a": ("aac", 40_000),
}


# Endings of the files that are read as sound.
SOUND_ENDINGS = frozenset((*_ENCODERS, ".mp3"))


class SoundError(ValueError):
    """A sound file cannot be read or written as asked."""


def silence(seconds: float) -> Sound:
    """Digital silence."""
    return np.zeros(round(seconds * RATE), dtype=np.float32)


def resample(sound: Sound, rate: int, target: int = RATE) -> Sound:
    """The sound at another sample rate, by cutting or padding its spectrum.

    Args:
        sound: samples.
        rate: their rate in hertz.
        target: the wanted rate in hertz.
    """
    if rate == target or not len(sound):
        return sound.astype(np.float32)
    count = round(len(sound) * target / rate)
    spectrum = np.fft.rfft(sound.astype(np.float64))
    wanted = np.zeros(count // 2 + 1, dtype=np.complex128)
    kept = min(len(spectrum), len(wanted))
    wanted[:kept] = spectrum[:kept]
    return (np.fft.irfft(wanted, count) * count / len(sound)).astype(np.float32)


def read_sound(path: Path) -> Sound:
    """The whole file as one channel of 16 kHz.

    Raises:
        SoundError: the file holds no sound that can be decoded.
    """
    pieces: list[Any] = []
    try:
        with av.open(str(path)) as container:
            resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE)
            for frame in container.decode(audio=0):
                pieces += [piece.to_ndarray()[0] for piece in resampler.resample(frame)]
            pieces += [piece.to_ndarray()[0] for piece in resampler.resample(None)]
    except (av.FFmpegError, IndexError) as error:
        raise SoundError(f"{path.name} cannot be read as sound: {error}") from error
    if not pieces:
        raise SoundError(f"{path.name} holds no sound")
    return np.concatenate(pieces).astype(np.float32)


def write_sound(path: Path, sound: Sound, metadata: dict[str, str] | None = None) -> None:
    """Write one channel of 16 kHz as the file's ending says (flac, wav, ogg with Opus, m4a with AAC).

    The same samples always give the same bytes.

    Raises:
        SoundError: the ending is none of these.
    """
    try:
        codec, bit_rate = _ENCODERS[path.suffix.casefold()]
    except KeyError:
        raise SoundError(f"{path.name}: write one of {', '.join(_ENCODERS)}") from None
    samples = np.round(np.clip(sound, -1.0, 1.0) * 32767).astype(np.int16)
    with av.open(str(path), "w", options={"fflags": "+bitexact"}) as container:
        container.metadata.update(metadata or {})
        stream: Any = container.add_stream(codec, rate=RATE, options={"flags": "+bitexact"})
        stream.layout = "mono"
        if bit_rate:
            stream.bit_rate = bit_rate
        frame = av.AudioFrame.from_ndarray(samples[np.newaxis, :], format="s16", layout="mono")
        frame.sample_rate = RATE
        resampler = av.AudioResampler(
            format=stream.format.name, layout="mono", rate=RATE, frame_size=stream.frame_size or 4096
        )
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            container.mux(stream.encode(piece))
        container.mux(stream.encode(None))
