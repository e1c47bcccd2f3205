"""Sound to transcript: windows, hypotheses with weights, and what is suspicious about them."""

import math
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from difflib import SequenceMatcher

from models.transcript import Hypothesis, Transcript, Window, Word
from pipelines.speech.activity import LEAST_SPEECH_S, RATE, Samples, Stretch, stretches
from pipelines.speech.listener import PROMPTS, Heard, HeardWindow, Listener

# Softens the decoder's over-sure scores; found on drafted cases, see tests/accuracy.
SOFTNESS = 3.0
# What is invented over noise: of 632 windows in which somebody spoke, down to 0 dB, none was above 0.0005 or
# below -0.33; machines alone had 0.14 and -0.94.
NOTHING_SAID = 0.05
UNSURE_SCORE = -0.8
# A blip of speech, as short as one word, counts where the decoder itself is sure of it.
SURE_SPEECH = 0.2
SURE_SCORE = -0.5
ECHO = 12
_NOTHING = HeardWindow(no_speech=1.0, hypotheses=())


def _weights(heard: list[Heard]) -> list[float]:
    """Share of each hypothesis; each style has an equal say, so that one prompt cannot outvote the other."""
    shares = [0.0] * len(heard)
    styles = {h.style for h in heard}
    for style in styles:
        rows = [i for i, h in enumerate(heard) if h.style == style]
        best = max(heard[i].score * heard[i].tokens for i in rows)
        raw = [math.exp((heard[i].score * heard[i].tokens - best) / SOFTNESS) for i in rows]
        for i, value in zip(rows, raw, strict=True):
            shares[i] = value / sum(raw) / len(styles)
    return shares


def _shifted(words: tuple[Word, ...], by_s: float) -> tuple[Word, ...]:
    return tuple(replace(w, start_s=w.start_s + by_s, end_s=w.end_s + by_s) for w in words)


def _borrowed(text: str, aligned: Heard) -> tuple[Word, ...]:
    """Word times of a hypothesis that was not aligned, from one that was: equal words share their times."""
    matches = list(re.finditer(r"\S+", text))
    theirs = [aligned.text[w.start : w.end].lower() for w in aligned.words]
    mine = [m.group().lower() for m in matches]
    words: list[Word] = []
    for op, i1, i2, j1, j2 in SequenceMatcher(None, theirs, mine, autojunk=False).get_opcodes():
        if op == "delete":
            continue
        start_s = aligned.words[min(i1, len(theirs) - 1)].start_s
        end_s = aligned.words[i2 - 1].end_s if i2 > i1 else start_s
        step = max(end_s - start_s, 0.0) / (j2 - j1)
        for k, m in enumerate(matches[j1:j2]):
            same = aligned.words[i1 + k] if op == "equal" else None
            words.append(
                Word(
                    start=m.start(),
                    end=m.end(),
                    start_s=same.start_s if same else start_s + k * step,
                    end_s=same.end_s if same else start_s + (k + 1) * step,
                )
            )
    return tuple(words)


def _repeats(text: str) -> bool:
    """Whether one run of three or more words stands three times or more in a row."""
    words = re.findall(r"[\w/.]+", text.lower())
    for size in range(1, len(words) // 3 + 1):
        need = 4 if size < 3 else 3
        run = 1
        for i in range(size, len(words) - size + 1, 1):
            same = words[i : i + size] == words[i - size : i]
            run = run + 1 if same and (i % size == 0 or size == 1) else (run if same else 1)
            if run >= need:
                return True
    return False


def _plain_words(text: str) -> list[str]:
    return re.findall(r"[\w/.]+", text.lower())


def _runs(words: list[str], length: int) -> set[tuple[str, ...]]:
    return {tuple(words[i : i + length]) for i in range(len(words) - length + 1)}


def _echoes(text: str) -> bool:
    """Whether the decoder gave back its prompt: all it heard, or more in a row than a plain reading has."""
    words = _plain_words(text)
    length = min(len(words), ECHO)
    return length > 1 and any(_runs(words, length) & _runs(_plain_words(p), length) for p in PROMPTS.values())


def _window(stretch: Stretch, heard: HeardWindow) -> Window:
    """Weigh the hypotheses of one window and drop those that are no speech."""
    doubts: Counter[str] = Counter()
    kept: list[Heard] = []
    # Moved before any are borrowed: those are the same numbers in memory, and a long recording keeps many.
    moved = [h.model_copy(update={"words": _shifted(h.words, stretch.start_s)}) for h in heard.hypotheses]
    for h in moved:
        if not h.text.strip():
            continue
        if _repeats(h.text):
            doubts["The decoder repeated itself here, as it does on noise: listen to this part."] += 1
        elif _echoes(h.text):
            doubts[
                "The decoder gave back its own word list here, as it does on noise: listen to this part."
            ] += 1
        elif heard.no_speech > NOTHING_SAID and h.score < UNSURE_SCORE:
            doubts["There may be speech under the noise here that could not be understood."] += 1
        else:
            kept.append(h)
    weights = _weights(kept) if kept else []
    aligned = {h.style: h for h in moved if h.words}
    assert all(h.style in aligned for h in kept), "the best hypothesis of each style is aligned"
    hypotheses = [
        Hypothesis(
            text=h.text,
            style=h.style,
            score=h.score,
            weight=weight,
            words=h.words or _borrowed(h.text, aligned[h.style]),
        )
        for h, weight in zip(kept, weights, strict=True)
    ]
    hypotheses.sort(key=lambda h: -h.weight)
    lost = len(kept) < len(heard.hypotheses) / 2
    return Window(
        start_s=stretch.start_s,
        end_s=stretch.end_s,
        no_speech=heard.no_speech,
        hypotheses=tuple(hypotheses),
        doubts=tuple(doubts) if lost else (),
    )


def _sure(heard: HeardWindow) -> bool:
    """Whether the best of every style is clearly speech."""
    best = {h.style: h for h in reversed(heard.hypotheses)}
    return heard.no_speech < SURE_SPEECH and all(h.score > SURE_SCORE for h in best.values())


def transcribe(blocks: Iterable[Samples], capture: str, listener: Listener) -> Transcript:
    """Hear a whole recording.

    Args:
        blocks: the recording in order, mono float32 at 16 kHz; read as it is needed.
        capture: sha256 of the file.
        listener: decodes windows.

    Returns:
        Windows with hypotheses. A window in which nobody speaks has none.
    """
    windows = []
    end_s = 0.0
    for stretch in stretches(blocks, listener.detect):
        end_s = stretch.end_s
        heard = listener.hear(stretch.samples) if stretch.speech_s > 0 else _NOTHING
        if stretch.speech_s < LEAST_SPEECH_S and not _sure(heard):
            heard = _NOTHING
        windows.append(_window(stretch, heard))
    return Transcript(
        capture=capture, duration_s=round(end_s, 3), windows=tuple(windows), decoder=listener.decoder
    )


__all__ = ["RATE", "transcribe"]
