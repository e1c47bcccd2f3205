"""What is found in noise without a voice: nothing should be.

    python -m tests.accuracy.noise_alone FOLDER [--minutes 10]

FOLDER holds recordings of machines. Each is read alone, then all of them in a row up to the given length.
Exit status 1 when anything was found.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from models.notes import SpokenNotes
from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes
from pipelines.speech.listener import WhisperListener
from pipelines.speech.transcribe import transcribe
from pipelines.speech.weights import model_folder
from samples.noise import noise_row
from samples.sound import RATE, SOUND_ENDINGS, Sound, read_sound


def main(arguments: Sequence[str] | None = None) -> int:
    """Print a line a recording."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the row of all of them")
    parser.add_argument("--model", default="base", help="weights: base, or a folder with a model")
    asked = parser.parse_args(arguments)
    listener, vocabulary = WhisperListener(model_folder(asked.model), 2, "en"), load_vocabulary()

    def read(sound: Sound) -> SpokenNotes:
        return read_notes(transcribe([sound], "", listener), vocabulary)

    row = noise_row(asked.folder)
    length = int(asked.minutes * 60 * RATE)
    recordings = {p.name: read_sound(p) for p in sorted(asked.folder.iterdir()) if p.suffix in SOUND_ENDINGS}
    recordings["all in a row"] = np.resize(row, length)
    found = 0
    for name, sound in recordings.items():
        said = read(sound)
        found += len(said.findings)
        print(
            f"{name}: {len(sound) / RATE:.0f} s, {len(said.findings)} findings, {len(said.attention)} notices"
        )
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
