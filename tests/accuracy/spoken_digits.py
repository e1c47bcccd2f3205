"""How many digits that real people say are heard, clean and under machine noise.

    python -m tests.accuracy.spoken_digits DATA [--snr clean 10 5 0]

DATA holds human/transcripts.csv (file, text, joined, kind) with its clips, and noise/ with recordings of
machines. The digits of the best hypothesis are compared with those of the text by edit distance; clips that
were joined from single digits are counted apart.
"""

import argparse
import csv
import sys
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from rapidfuzz.distance import Levenshtein

from capture.media import load_audio
from models.transcript import Transcript
from pipelines.notes.integers import whole
from pipelines.notes.tokens import tokens
from pipelines.speech.listener import WhisperListener
from pipelines.speech.transcribe import transcribe
from pipelines.speech.weights import model_folder
from samples.noise import mix, noise_row
from samples.sound import Sound


def digits_of(text: str) -> str:
    """The digits of a text, of numerals and of number words: "one forty two" and "142" are 142."""
    found, digits, i = tokens(text), "", 0
    while i < len(found):
        number = whole(found, i)
        if number is not None:
            digits, i = digits + str(number.value), number.end
        else:
            digits += "".join(c for c in found[i].text if c.isdecimal())
            i += 1
    return digits


def best_text(transcript: Transcript) -> str:
    """The heaviest hypothesis of each window."""
    return " ".join(w.hypotheses[0].text for w in transcript.windows if w.hypotheses)


def _mixed(clip: Sound, noise: Sound, snr: str, place: int) -> Sound:
    return clip if snr == "clean" else mix(clip, np.roll(noise, -place * 16_000), float(snr))


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the share of digits that were right for each ratio and group."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("data", type=Path)
    parser.add_argument("--snr", nargs="+", default=["clean", "10", "5", "0"])
    parser.add_argument("--model", default="base", help="weights: base, or a folder with a model")
    parser.add_argument("--wrong", action="store_true", help="show what was heard wrong")
    asked = parser.parse_args(arguments)
    listener = WhisperListener(model_folder(asked.model), threads=2, language="en")
    with (asked.data / "human" / "transcripts.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    noise = noise_row(asked.data / "noise")
    for snr in asked.snr:
        said: dict[str, int] = defaultdict(int)
        wrong: dict[str, int] = defaultdict(int)
        for place, row in enumerate(rows):
            group = "joined" if row["joined"] == "yes" else "spoken"
            clip = load_audio(asked.data / "human" / row["file"])
            heard = best_text(transcribe([_mixed(clip, noise, snr, place)], "", listener))
            want, got = digits_of(row["text"]), digits_of(heard)
            errors = min(len(want), Levenshtein.distance(want, got))
            said[group] += len(want)
            wrong[group] += errors
            if errors and asked.wrong:
                print(f"    {snr} {row['file']} wanted {want} got {got}: {heard.strip()}")
        for group in sorted(said):
            print(f"{snr:>6} dB {group}: {1 - wrong[group] / said[group]:.3f} of {said[group]} digits right")
    return 0


if __name__ == "__main__":
    sys.exit(main())
