"""How well and how dearly notes are heard, beside plain faster-whisper with the same weights and grammar.

    python -m tests.benchmarks.hearing CASES [--noise FOLDER --snr 10 5] [--model FOLDER]

CASES holds NAME/expected.json and NAME/inbox with recordings. Both sides run in turn in one process with two
threads; the plain one decodes with five beams and no prompt, and its text goes through the same grammar. Only
what is spoken is scored: no photos. Processor seconds are told for a second of sound.
"""

import argparse
import json
import re
import resource
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from capture.media import load_audio
from models.transcript import Decoder, Hypothesis, Transcript, Window, Word
from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes
from pipelines.speech.listener import WhisperListener
from pipelines.speech.transcribe import transcribe
from pipelines.speech.weights import model_folder
from samples.noise import mix, noise_row
from samples.sound import SOUND_ENDINGS, Sound
from tests.accuracy.score import Tally, score

Hear = Callable[[Sound], Transcript]
PLAIN = Decoder(model="base", library="faster-whisper", settings="beam 5, no prompt")


def _plain_window(start_s: float, end_s: float, text: str) -> Window:
    words = tuple(
        Word(start=m.start(), end=m.end(), start_s=start_s, end_s=end_s) for m in re.finditer(r"\S+", text)
    )
    hypothesis = Hypothesis(text=text, style="digits", score=0.0, weight=1.0, words=words)
    return Window(start_s=start_s, end_s=end_s, no_speech=0.0, hypotheses=(hypothesis,))


def plain(folder: Path) -> Hear:
    """faster-whisper as it comes: one text of each segment."""
    from faster_whisper import WhisperModel

    model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=2)

    def hear(sound: Sound) -> Transcript:
        segments, _ = model.transcribe(sound, language="en", beam_size=5)
        windows = tuple(_plain_window(s.start, s.end, s.text) for s in segments)
        return Transcript(capture="", duration_s=len(sound) / 16_000, windows=windows, decoder=PLAIN)

    return hear


def ours(folder: Path) -> Hear:
    """The program's own hearing."""
    listener = WhisperListener(folder, threads=2, language="en")
    return lambda sound: transcribe([sound], "", listener)


def recordings(inbox: Path) -> Iterator[Sound]:
    """The recordings of a case in the order of their names."""
    for path in sorted(inbox.iterdir()):
        if path.suffix.casefold() in SOUND_ENDINGS:
            yield load_audio(path)


def drafted(transcripts: list[Transcript]) -> dict[str, Any]:
    """What the grammar makes of a case, in the form of a draft."""
    found = []
    for transcript in transcripts:
        for finding in read_notes(transcript, load_vocabulary()).findings:
            entry = finding.model_dump(mode="json", context={"published": True})
            found.append({**entry, "position": finding.position.keys()})
    return {"findings": found}


def measured(cases: Path, hear: Hear, noise: Sound | None, snr_db: float) -> tuple[Tally, float, float]:
    """The tally of all cases, processor seconds, and seconds of sound."""
    total, spent, sound_s = Tally(), 0.0, 0.0
    for expected in sorted(cases.glob("*/expected.json")):
        transcripts = []
        for place, clean in enumerate(recordings(expected.parent / "inbox")):
            sound = clean if noise is None else mix(clean, np.roll(noise, -place * 160_000), snr_db)
            began = time.process_time()
            transcripts.append(hear(sound))
            spent += time.process_time() - began
            sound_s += len(sound) / 16_000
        total += score(json.loads(expected.read_text(encoding="utf-8")), drafted(transcripts))
    return total, spent, sound_s


def main(arguments: list[str] | None = None) -> int:
    """Print a row for each ratio and side."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("cases", type=Path, nargs="?", default=Path("samples"))
    parser.add_argument("--noise", type=Path)
    parser.add_argument("--snr", type=float, nargs="*", default=[])
    parser.add_argument("--model", default="base")
    asked = parser.parse_args(arguments)
    if not any(asked.cases.glob("*/expected.json")):
        print(f"{asked.cases} holds no case: expected NAME/expected.json in it", file=sys.stderr)
        return 2
    folder = model_folder(asked.model)
    noise = noise_row(asked.noise) if asked.noise else None
    sides = {"ours": ours(folder), "plain": plain(folder)}
    for hear in sides.values():
        hear(np.zeros(16_000, np.float32))  # loaded before the clock runs
    for snr in [None, *asked.snr] if noise is not None else [None]:
        cost = {}
        for name, hear in sides.items():
            tally, spent, sound_s = measured(asked.cases, hear, None if snr is None else noise, snr or 0.0)
            figures, cost[name] = tally.figures(), spent
            level = "clean" if snr is None else f"{snr:g} dB"
            print(
                f"{level:>6} {name:5}: F1 {figures['f1']:.3f} conditions F1 {figures['conditions_f1']:.3f} "
                f"flagged {figures['flagged_share']:.3f} silent {tally.silent_errors} of {tally.drafted}; "
                f"{spent / sound_s:.2f} s a second",
                flush=True,
            )
        print(f"       ours costs {cost['ours'] / cost['plain']:.2f} times the plain one")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
