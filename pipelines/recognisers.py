"""Hearing and reading in processes apart: one that hangs is ended and started anew, one that falls is too."""

import atexit
from typing import Any

import numpy as np
import numpy.typing as npt

from capture.apart import Crashed, Helper, NoMemory, Overrun, Reply, Stopped
from models.display import DisplayReading
from models.labels import SeenText
from models.transcript import Decoder
from pipelines.speech.activity import Samples
from pipelines.speech.listener import HeardWindow

Pixels = npt.NDArray[np.uint8]

# Whoever asks has a deadline of their own, which ends the process; this is only the last resort.
_LONGEST_S = 4 * 3600.0


class RecogniserFell(RuntimeError):
    """The process of a recogniser ended before it answered."""


class Recogniser:
    """One process that hears or reads."""

    def __init__(self, helper: Helper) -> None:
        self._helper = helper
        atexit.register(helper.close)

    def stop(self) -> None:
        """End whatever it does now; the next question starts it anew."""
        self._helper.stop()

    def ask(self, job: str, words: dict[str, Any], array: npt.NDArray[Any] | None = None) -> Reply:
        """One question, one answer.

        Raises:
            MemoryError: it needs more memory than it may have.
            RecogniserFell: its process ended.
            capture.apart.JobFailed: it failed.
        """
        data = b"" if array is None else np.ascontiguousarray(array).reshape(-1).view(np.uint8).data
        try:
            (reply,) = self._helper.ask(job, words, data, cpu_s=_LONGEST_S, wall_s=_LONGEST_S)
        except NoMemory:
            raise MemoryError from None
        except (Stopped, Overrun):
            raise RecogniserFell("the recogniser was ended from outside (is there enough memory?)") from None
        except Crashed:
            raise RecogniserFell("the recogniser crashed on it") from None
        return reply


class FarListener:
    """A `Listener` whose work is done by a recogniser's process."""

    def __init__(self, recogniser: Recogniser) -> None:
        self._recogniser = recogniser
        self._decoder: Decoder | None = None

    @property
    def decoder(self) -> Decoder:
        """What decodes."""
        if self._decoder is None:
            said = self._recogniser.ask("decoder", {})
            self._decoder = Decoder.model_validate_json(said.words["decoder"])
        return self._decoder

    def ready(self) -> None:
        """Load the models now, so that the first note need not wait for them."""
        self._recogniser.ask("ready", {})

    def detect(self, samples: Samples) -> npt.NDArray[np.float32]:
        """Probability of speech for each 512 samples."""
        return np.frombuffer(self._recogniser.ask("detect", {}, samples).data, np.float32)

    def hear(self, samples: Samples) -> HeardWindow:
        """Decode one window of at most 30 s, mono float32 at 16 kHz."""
        return HeardWindow.model_validate_json(self._recogniser.ask("hear", {}, samples).words["heard"])


class FarReader:
    """Reads photos in a recogniser's process."""

    def __init__(self, recogniser: Recogniser) -> None:
        self._recogniser = recogniser

    def read_display(self, pixels: Pixels, capture: str) -> DisplayReading:
        """Like `pipelines.displays.read_display`."""
        said = self._recogniser.ask("display", {"shape": pixels.shape, "capture": capture}, pixels)
        return DisplayReading.model_validate_json(said.words["reading"])

    def read_print(self, pixels: Pixels) -> list[tuple[str, float]]:
        """Like `pipelines.displays.read_print`."""
        said = self._recogniser.ask("print", {"shape": pixels.shape}, pixels)
        return [(str(text), float(confidence)) for text, confidence in said.words["lines"]]

    def read_codes(self, pixels: Pixels) -> list[SeenText]:
        """Like `pipelines.displays.read_codes`."""
        said = self._recogniser.ask("codes", {"shape": pixels.shape}, pixels)
        return [SeenText.model_validate(code) for code in said.words["codes"]]
