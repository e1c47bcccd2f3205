"""Where somebody speaks, and where a long recording may be cut without cutting a word."""

from collections.abc import Iterable, Iterator
from typing import Protocol

import numpy as np
import numpy.typing as npt
from pydantic import ConfigDict

from models.frozen import Frozen

RATE = 16_000
FRAME = 512  # samples of one activity frame: 32 ms
SHORTEST_S = 6.0
LONGEST_S = 14.0
# A frame counts as speech from this probability on; noise alone stays below it nearly always.
SPEECH = 0.5
LEAST_SPEECH_S = 0.25

Samples = npt.NDArray[np.float32]


class SpeechDetector(Protocol):
    """Gives the probability of speech for every frame."""

    def __call__(self, samples: Samples) -> npt.NDArray[np.float32]:
        """Probabilities, one for each 512 samples; `samples` is a multiple of 512 long, 16 kHz mono."""
        ...


class Stretch(Frozen):
    """A window of sound.

    Attributes:
        start_s: seconds from the start of the recording.
        samples: mono float32 at 16 kHz.
        speech_s: seconds of it in which somebody speaks.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    start_s: float
    samples: Samples
    speech_s: float

    @property
    def end_s(self) -> float:
        """Seconds from the start of the recording."""
        return self.start_s + len(self.samples) / RATE


def _level(samples: Samples) -> npt.NDArray[np.float32]:
    """Loudness of each frame in decibels, smoothed over about a tenth of a second."""
    frames = samples[: len(samples) // FRAME * FRAME].reshape(-1, FRAME)
    level = 10 * np.log10(np.mean(frames.astype(np.float64) ** 2, axis=1) + 1e-10)
    return np.convolve(level, np.ones(3) / 3, mode="same").astype(np.float32)


def _quietest(level: npt.NDArray[np.float32], speech: npt.NDArray[np.float32]) -> int:
    """Index of the frame between the shortest and longest window where a cut hurts least."""
    first, last = int(SHORTEST_S * RATE / FRAME), int(LONGEST_S * RATE / FRAME)
    spread = max(float(np.ptp(level[first:last])), 1.0)
    smooth = np.convolve(speech, np.ones(9) / 9, mode="same")
    cost = smooth[first:last] + (level[first:last] - level[first:last].min()) / spread
    return first + int(np.argmin(cost))


def _padded(samples: Samples) -> Samples:
    return np.pad(samples, (0, -len(samples) % FRAME))


def stretches(blocks: Iterable[Samples], detector: SpeechDetector) -> Iterator[Stretch]:
    """Cut a recording into windows of 6 to 14 s at the quietest points between words.

    Args:
        blocks: the recording in order, mono float32 at 16 kHz, in blocks of any length.
        detector: finds speech.

    Yields:
        Every window, speech or not; no more than two windows are held at a time.
    """
    held: Samples = np.zeros(0, np.float32)
    start = 0
    longest = int(LONGEST_S * RATE)
    for block in blocks:
        held = np.concatenate([held, block.astype(np.float32)])
        while len(held) >= longest + FRAME:
            piece = held[: longest // FRAME * FRAME + FRAME]
            speech = detector(piece)
            cut = _quietest(_level(piece), speech)
            yield _stretch(start, held[: cut * FRAME], speech[:cut])
            held, start = held[cut * FRAME :], start + cut * FRAME
    if len(held):
        yield _stretch(start, held, detector(_padded(held)))


def _stretch(start: int, samples: Samples, speech: npt.NDArray[np.float32]) -> Stretch:
    speech_s = float(np.count_nonzero(speech >= SPEECH)) * FRAME / RATE
    return Stretch(start_s=start / RATE, samples=samples, speech_s=speech_s)
