"""Lay noise under the recordings of cases.

    python tests/accuracy/remix.py CASES OUT --noise FOLDER --snr 10

Each CASES/NAME becomes OUT/NAME: recordings keep their names, formats and times and get the sounds of
FOLDER under them, each beginning elsewhere in that row of sounds; everything else is copied as it is. The
ratio is of the speech where somebody speaks, in decibel.
"""

import argparse
import os
import shutil
import sys
import zlib
from pathlib import Path

import av
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # so that it also runs by its path

from samples.noise import mix, noise_row
from samples.sound import Sound, SoundError, read_sound, write_sound

RECORDINGS = frozenset((".flac", ".wav", ".ogg", ".m4a"))


def container_metadata(path: Path) -> dict[str, str]:
    """What the container says of its creation."""
    with av.open(str(path)) as container:
        return {key: text for key, text in container.metadata.items() if key == "creation_time"}


def remix_recording(source: Path, target: Path, noise: Sound, snr_db: float) -> None:
    """Write the recording with noise under it, in the same format and with the same times.

    Args:
        source: the clean recording.
        target: where to write.
        noise: the row of noises; where it begins depends on the file's name alone.
        snr_db: speech over noise in decibel.
    """
    speech = read_sound(source)
    begin = zlib.crc32(source.name.encode()) % len(noise)
    write_sound(target, mix(speech, np.roll(noise, -begin), snr_db), container_metadata(source))
    status = source.stat()
    os.utime(target, ns=(status.st_atime_ns, status.st_mtime_ns))


def remix_cases(cases: Path, out: Path, noise: Sound, snr_db: float) -> int:
    """Remix all recordings under ``cases`` and copy the rest; returns the number of recordings."""
    count = 0
    for source in sorted(path for path in cases.rglob("*") if path.is_file()):
        target = out / source.relative_to(cases)
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.suffix.casefold() in RECORDINGS:
            remix_recording(source, target, noise, snr_db)
            count += 1
        else:
            shutil.copy2(source, target)
            target.chmod(0o644)
    return count


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit status."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("cases", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--noise", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--snr", type=float, default=10.0, metavar="DB")
    asked = parser.parse_args(arguments)
    try:
        count = remix_cases(asked.cases, asked.out, noise_row(asked.noise), asked.snr)
    except SoundError as error:
        print(error, file=sys.stderr)
        return 1
    print(f"{count} recordings at {asked.snr:g} dB in {asked.out}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
