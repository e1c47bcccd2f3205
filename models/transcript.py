"""What was heard: windows of speech, each with the decoder's own alternatives."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from pydantic import ConfigDict

from models.frozen import Frozen

Style = Literal["words", "digits"]


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a hypothesis. Times are seconds from the start of the file.

    A long recording has tens of thousands of them, so each is kept small: with slots, not as a `Frozen`.

    Attributes:
        start: offset of the first character in the hypothesis text.
        end: offset behind the last one.
        start_s: when it begins; good to about a second, for seeking only.
        end_s: when it ends.
        probability: the decoder's own, 0 to 1; None where the hypothesis was not aligned to the sound.
    """

    __pydantic_config__: ClassVar[ConfigDict] = ConfigDict(extra="forbid")

    start: int
    end: int
    start_s: float
    end_s: float
    probability: float | None = None


class Hypothesis(Frozen):
    """One reading of a window by the decoder.

    Attributes:
        text: exactly as decoded; never altered.
        style: how numbers were asked for.
        score: mean log probability of a token.
        weight: share of all hypotheses of this window, summing to 1.
        words: the words in order, with times.
    """

    text: str
    style: Style
    score: float
    weight: float
    words: tuple[Word, ...] = ()


class Window(Frozen):
    """A stretch of sound that was decoded as one.

    Attributes:
        start_s: seconds from the start of the file.
        end_s: seconds from the start of the file.
        no_speech: the decoder's probability that nobody spoke.
        hypotheses: best first; empty when nothing usable was heard.
        doubts: plain sentences about the whole window (repetition, an echoed word list).
    """

    start_s: float
    end_s: float
    no_speech: float
    hypotheses: tuple[Hypothesis, ...]
    doubts: tuple[str, ...] = ()


class Decoder(Frozen):
    """What decoded, so that a transcript can be explained and made again."""

    model: str
    library: str
    settings: str


class Transcript(Frozen):
    """All that was heard in one audio file.

    Attributes:
        capture: sha256 of the audio.
        duration_s: seconds of sound.
        windows: in order of time.
        decoder: what decoded.
    """

    capture: str
    duration_s: float
    windows: tuple[Window, ...]
    decoder: Decoder

    def text(self) -> str:
        """The best hypothesis of every window, one a line."""
        return "\n".join(w.hypotheses[0].text.strip() for w in self.windows if w.hypotheses)
