"""Build the demo and the cases from their scripts.

    python -m samples.make demo
    python -m samples.make cases OUT [--which open|held_back|all] [--noise FOLDER --snr DB]

The demo goes to ``samples/demo``. A case becomes a folder OUT/NAME with ``inbox/`` and ``expected.json``.
Cases that are held back are built only when asked for. With ``--noise`` the sounds of that folder, one
after another, are laid under the recordings in place of the noise that the script names.
"""

import argparse
import json
import shutil
import sys
import zlib
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path

import numpy as np

from samples import demo_folder
from samples.noise import NOISES, mix, noise_row
from samples.photos import write_photo
from samples.script import DEMO, Note, Script, ScriptError, all_cases, read_script
from samples.sound import RATE, Sound, SoundError, silence, write_sound
from samples.speech import VoiceMissing, speak

_LEAD_S = 0.6


def _rng(*names: object) -> np.random.Generator:
    """A random generator that depends on the names alone."""
    return np.random.default_rng(zlib.crc32("/".join(map(str, names)).encode()))


def record_note(note: Note) -> tuple[Sound, list[float]]:
    """The clean recording of a note, and the second at which each of its lines begins.

    Raises:
        VoiceMissing: what speaks with the note's voice is not installed.
    """
    pieces, begins = [silence(_LEAD_S)], []
    for line in note.lines:
        begins.append(sum(len(piece) for piece in pieces) / RATE)
        pieces += [speak(line.say, note.voice), silence(line.pause)]
    return np.concatenate(pieces), begins


def with_noise(
    sound: Sound, note: Note, rng: np.random.Generator, other: tuple[Sound, float] | None
) -> Sound:
    """The recording with noise under it.

    Args:
        sound: clean recording.
        note: names its own noise and ratio.
        rng: makes the noise.
        other: another noise and its ratio in decibel, in place of the note's own.
    """
    if other is not None:
        return mix(sound, np.roll(other[0], int(rng.integers(0, len(other[0])))), other[1])
    if note.noise is not None:
        return mix(sound, NOISES[note.noise](len(sound) / RATE, rng), note.snr_db)
    return sound


def build(script: Script, folder: Path, other_noise: tuple[Sound, float] | None = None) -> None:
    """Write a script's recordings, photos and expected record; what stood in its inbox before goes.

    Args:
        script: the inspection.
        folder: gets ``inbox/`` and ``expected.json``.
        other_noise: noise and ratio in decibel, in place of what the script names.
    """
    inbox = folder / "inbox"
    shutil.rmtree(inbox, ignore_errors=True)
    inbox.mkdir(parents=True)
    photos = 0
    for number, note in enumerate(script.notes):
        sound, begins = record_note(note)
        start = script.note_start(note)
        noisy = with_noise(sound, note, _rng(script.name, "noise", number), other_noise)
        write_sound(inbox / f"{start:%Y%m%dT%H%M%S}.{note.file}", noisy)
        for line, begin in zip(note.lines, begins, strict=True):
            if line.photo is None:
                continue
            photos += 1
            taken = start + timedelta(seconds=begin + line.photo.after_s)
            rng = _rng(script.name, "photo", photos)
            write_photo(inbox / f"IMG_{photos:04d}.jpg", line.photo, taken, rng)
    expected = json.dumps(script.to_expected(), indent=1, ensure_ascii=False)
    (folder / "expected.json").write_text(expected + "\n", encoding="utf-8")


def chosen(which: str) -> list[Script]:
    """The scripts of the cases that are open, held back, or all of them."""
    wanted = {"open": (False,), "held_back": (True,), "all": (False, True)}[which]
    return [script for script in all_cases() if script.held_back in wanted]


def _arguments(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m samples.make",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("demo", help="write samples/demo")
    cases = commands.add_parser(
        "cases", help="write case folders", epilog="example: samples.make cases /tmp/cases"
    )
    cases.add_argument("out", type=Path)
    cases.add_argument("--which", choices=("open", "held_back", "all"), default="open")
    cases.add_argument("--only", nargs="*", metavar="NAME", help="build only these")
    cases.add_argument("--noise", type=Path, metavar="FOLDER", help="noise to lay under every recording")
    cases.add_argument(
        "--snr", type=float, default=10.0, metavar="DB", help="speech over noise, in decibel (10)"
    )
    return parser.parse_args(arguments)


def _build_cases(scripts: Iterable[Script], arguments: argparse.Namespace) -> None:
    other = (noise_row(arguments.noise), arguments.snr) if arguments.noise else None
    for script in scripts:
        if arguments.only and script.name not in arguments.only:
            continue
        build(script, arguments.out / script.name, other)
        print(f"{script.name}: {len(script.findings())} findings")


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit status."""
    asked = _arguments(arguments)
    try:
        if asked.command == "demo":
            build(read_script(DEMO), demo_folder())
        else:
            _build_cases(chosen(asked.which), asked)
    except (VoiceMissing, ScriptError, SoundError) as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
