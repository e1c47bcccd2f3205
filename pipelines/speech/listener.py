"""The one adapter to faster-whisper and CTranslate2: sound in, weighted hypotheses out."""

import json
import math
import os
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from models.frozen import Frozen
from models.transcript import Decoder, Style, Word
from pipelines.speech.activity import RATE, Samples
from pipelines.speech.memory import give_back, keep_one_reserve

BEAMS = 4
# What a technician says, with words and with digits: the decoder writes numbers the same way, and hears
# the names of parts more readily. A decoder that has nothing to hear may give a piece of it back, so no
# condition stands here. Both must have as many tokens, so that they are decoded beside one another.
PROMPTS: dict[Style, str] = {
    "words": "Unit four seventeen. Left front outer pad, six and a half millimeters. Rotor runout, point oh"
    " oh three. Upper ball joint, thirty thousandths axial play. Outer tie rod end boot. Drag link, "
    "idler arm, pitman arm, king pins. Drive shaft, U-joint, differential. Hub seal, leaf spring, "
    "shackle. Left rear tire tread, seven thirty-seconds outside. Frame rail. Cooling system, fifteen"
    " psi. Oil temp one ninety-five, coolant. Evaporator, condenser, blower motor. Low side, high "
    "side. Alternator, starter draw. Caliper, brake fluid, drums.",
    "digits": "A truck inspection. Unit 417. Left front outer pad, 6.5 mm. Rotor runout, 0.003. Upper ball"
    " joint, 0.030 in axial play. Outer tie rod end boot. Drag link, idler arm, pitman arm, king"
    " pins. Drive shaft, U-joint, differential. Hub seal, leaf spring, shackle. Left rear tire"
    " tread, 7/32 outside. Frame rail. Cooling system, 15 psi. Oil temp 195, coolant. Evaporator,"
    " condenser, blower motor. Low side, high side. Alternator, starter draw. Caliper, brake fluid,"
    " drums.",
}
MOST_TOKENS = 200
# The encoder was made for 30 s; this much silence behind the sound hears the same, in less time.
TAIL_S = 10.0
LONGEST_S = 30.0
# The library keeps code for each shape of matrix that it met, 1024 unless told: a long note, whose windows
# all differ in length, would take more memory minute after minute. A few are as fast.
_KEPT_SHAPES = "8"


class Heard(Frozen):
    """One hypothesis as it comes from the decoder.

    Attributes:
        text: as decoded.
        style: how numbers were asked for.
        score: mean log probability of a token.
        tokens: number of tokens.
        words: words with times in seconds from the start of the window; empty when not aligned.
    """

    text: str
    style: Style
    score: float
    tokens: int
    words: tuple[Word, ...] = ()


class HeardWindow(Frozen):
    """What the decoder says of one window."""

    no_speech: float
    hypotheses: tuple[Heard, ...]


class Listener(Protocol):
    """Anything that turns a window of sound into hypotheses."""

    @property
    def decoder(self) -> Decoder:
        """What decodes."""
        ...

    def detect(self, samples: Samples) -> npt.NDArray[np.float32]:
        """Probability of speech for each 512 samples."""
        ...

    def hear(self, samples: Samples) -> HeardWindow:
        """Decode one window of at most 30 s, mono float32 at 16 kHz."""
        ...


def _char_spans(texts: Sequence[str]) -> list[tuple[int, int]]:
    """Offsets of each word in their concatenation, without the blanks around it."""
    spans, at = [], 0
    for text in texts:
        lead = len(text) - len(text.lstrip())
        spans.append((at + lead, at + len(text.rstrip())))
        at += len(text)
    return spans


class WhisperListener:
    """faster-whisper's base model on the processor; encodes once, decodes once for each style."""

    def __init__(self, folder: Path, threads: int, language: str) -> None:
        """Remember what to load; nothing is loaded before the first window.

        Args:
            folder: a CTranslate2 Whisper model with its tokenizer, so that no hub is asked.
            threads: processor threads.
            language: two-letter code.
        """
        self._folder, self._threads, self._language = folder, threads, language

    @cached_property
    def _model(self) -> Any:
        os.environ.setdefault("HF_HUB_OFFLINE", "1")  # a damaged folder must fail, not go looking elsewhere
        os.environ.setdefault("ONEDNN_PRIMITIVE_CACHE_CAPACITY", _KEPT_SHAPES)
        from faster_whisper import WhisperModel

        keep_one_reserve()
        # With fewer threads allowed than asked for, the library leaves part of a batch uncomputed.
        threads = min(self._threads, int(os.environ.get("OMP_THREAD_LIMIT") or self._threads))
        return WhisperModel(str(self._folder), device="cpu", compute_type="int8", cpu_threads=threads)

    @cached_property
    def _tokenizer(self) -> Any:
        from faster_whisper.tokenizer import Tokenizer

        model = self._model
        return Tokenizer(
            model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language=self._language
        )

    @cached_property
    def _suppressed(self) -> list[int]:
        """The signs that the model's configuration keeps from being written, but a fraction's stroke."""
        config = json.loads((self._folder / "config.json").read_text(encoding="utf-8"))
        strokes = {i for text in ("/", " /") for i in self._tokenizer.encode(text)}
        return [i for i in config.get("suppress_ids", ()) if i not in strokes] or [-1]

    @cached_property
    def _detector(self) -> Any:
        from faster_whisper.vad import get_vad_model

        return get_vad_model()

    @property
    def decoder(self) -> Decoder:
        """What decodes."""
        import ctranslate2
        import faster_whisper

        return Decoder(
            model=self._folder.name,
            library=f"faster-whisper {faster_whisper.__version__}, ctranslate2 {ctranslate2.__version__}",
            settings=f"int8, beam {BEAMS}, two prompts, language {self._language}",
        )

    def detect(self, samples: Samples) -> npt.NDArray[np.float32]:
        """Probability of speech for each 512 samples."""
        # A copy: the detector overwrites the end of what it is given.
        return np.asarray(self._detector(samples.copy()), np.float32).reshape(-1)

    def hear(self, samples: Samples) -> HeardWindow:
        """Decode one window of at most 30 s, mono float32 at 16 kHz."""
        from faster_whisper.audio import pad_or_trim

        features = self._model.feature_extractor(samples)
        frames = max(2, int(len(samples) / RATE * 100))
        length = int(min(LONGEST_S, len(samples) / RATE + TAIL_S) * 50) * 2  # the encoder halves it
        encoded = self._model.encode(pad_or_trim(features, length))
        results = self._decode(encoded, len(samples) / RATE)
        heard = [
            hypothesis
            for style, result in zip(PROMPTS, results, strict=True)
            for hypothesis in self._hypotheses(result, style, encoded, frames)
        ]
        silence = min(float(result.no_speech_prob) for result in results)
        del encoded, results
        give_back()
        return HeardWindow(no_speech=silence, hypotheses=tuple(heard))

    def _prompt(self, style: Style) -> list[int]:
        tokenizer = self._tokenizer
        words = tokenizer.encode(" " + PROMPTS[style])
        return [tokenizer.sot_prev, *words, *tokenizer.sot_sequence, tokenizer.no_timestamps]

    def _decode(self, encoded: Any, seconds: float) -> list[Any]:
        """One result for each prompt; the sound is encoded once and decoded for all of them in one batch."""
        from ctranslate2 import StorageView

        prompts = [self._prompt(style) for style in PROMPTS]
        # More than 12 tokens a second is a loop, not speech.
        most = min(MOST_TOKENS, 20 + int(12 * seconds))
        batch = StorageView.from_array(np.repeat(np.asarray(encoded), len(prompts), axis=0))
        results: list[Any] = self._model.model.generate(
            batch,
            prompts,
            beam_size=BEAMS,
            num_hypotheses=BEAMS,
            max_length=len(prompts[0]) + most,
            return_scores=True,
            return_no_speech_prob=True,
            suppress_blank=True,
            suppress_tokens=self._suppressed,
        )
        if not all(math.isfinite(score) for result in results for score in result.scores):
            raise ArithmeticError(
                "the speech decoder gave scores that are no numbers: nothing it wrote is used"
            )
        return results

    def _hypotheses(self, result: Any, style: Style, encoded: Any, frames: int) -> list[Heard]:
        tokenizer = self._tokenizer
        heard = []
        for rank, (ids, score) in enumerate(zip(result.sequences_ids, result.scores, strict=True)):
            text_ids = [i for i in ids if i < tokenizer.eot]
            words = self._align(encoded, text_ids, frames) if rank == 0 else ()
            heard.append(
                Heard(text=tokenizer.decode(text_ids), style=style, score=score, tokens=len(ids), words=words)
            )
        return heard

    def _align(self, encoded: Any, ids: list[int], frames: int) -> tuple[Word, ...]:
        if not ids:
            return ()
        aligned = self._model.find_alignment(self._tokenizer, [ids], encoded, frames)[0]
        spans = _char_spans([w["word"] for w in aligned])
        return tuple(
            Word(
                start=start,
                end=end,
                start_s=float(w["start"]),
                end_s=float(w["end"]),
                probability=float(w["probability"]),
            )
            for (start, end), w in zip(spans, aligned, strict=True)
            if end > start
        )
