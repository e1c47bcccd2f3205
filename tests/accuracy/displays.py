"""Measure the display reader on a folder of labelled photos.

Usage::

    python -m tests.accuracy.displays FOLDER [--list]

FOLDER holds ``labels.csv`` with the columns file, kind, text, decimal_visible, quality and notes; the first
part of ``file`` names the source. A photo counts as right when its text is read exactly; where
``decimal_visible`` is ``no`` only the characters beside the point count; for quality ``unreadable`` only "no
reading" is right. Single digits (kind ``digit``) are left out, and so is every photo whose notes say "same
photo" or "same display".
Figures are printed for each source and quality apart, and never averaged over sources.

A reading is wrong but sure when its text is wrong, its confidence 0.9 or more, and it gives no reason.
"""

import argparse
import csv
import sys
import time
from collections import defaultdict
from pathlib import Path

import numpy as np
from PIL import Image, ImageOps

from models.display import DisplayReading
from pipelines.displays import read_display


def photo(path: Path) -> np.ndarray:
    """The photo upright, RGB."""
    with Image.open(path) as picture:
        return np.asarray(ImageOps.exif_transpose(picture).convert("RGB"))


def right(reading: DisplayReading, row: dict[str, str]) -> bool:
    """Whether a reading is what the label says."""
    if row["quality"] == "unreadable":
        return reading.text is None
    said, meant = reading.text or "", row["text"]
    if row["decimal_visible"] == "no":
        said, meant = said.replace(".", ""), meant.replace(".", "")
    return said == meant


def _silently_wrong(reading: DisplayReading, good: bool) -> bool:
    return not good and reading.text is not None and reading.confidence >= 0.9 and reading.reason is None


def rows(folder: Path) -> list[dict[str, str]]:
    """The labels that count, in the order of the file."""
    with (folder / "labels.csv").open(encoding="utf-8", newline="") as file:
        whole = [row for row in csv.DictReader(file) if row["kind"] != "digit"]
    return [row for row in whole if "same photo" not in row["notes"] and "same display" not in row["notes"]]


def measure(folder: Path, show: bool) -> None:
    """Print the figures of a folder."""
    counts: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    seconds = []
    for row in rows(folder):
        image = photo(folder / row["file"])
        begun = time.perf_counter()
        reading = read_display(image, "0")
        seconds.append(time.perf_counter() - begun)
        good = right(reading, row)
        silent = _silently_wrong(reading, good)
        tally = counts[(row["file"].split("/")[0], row["quality"])]
        for i, hit in enumerate((True, good, reading.text is None, silent)):
            tally[i] += hit
        if show and not good:
            mark = "SURE" if silent else ""
            others = [a.text for a in reading.alternatives[:2]]
            said = f"{row['text']} read {reading.text} {reading.confidence:.2f} {others}"
            print(f"  {row['file']} {row['quality']}: {said} {mark} {reading.reason or ''}")
    print(f"{'source':42} {'quality':10} {'count':>5} {'right':>6} {'none':>5} {'wrong but sure':>14}")
    for (source, quality), (count, hits, none, silent) in sorted(counts.items()):
        print(f"{source:42} {quality:10} {count:5} {hits / count:6.3f} {none:5} {silent:14}")
    total, sure = sum(c[0] for c in counts.values()), sum(c[3] for c in counts.values())
    print(f"wrong but sure: {sure} of {total}; seconds a picture: median {np.median(seconds):.2f}")


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--list", action="store_true", help="name every picture that was not read right")
    given = parser.parse_args()
    if not (given.folder / "labels.csv").exists():
        print(
            f"{given.folder} holds no labels.csv: name the folder with the labelled photos", file=sys.stderr
        )
        return 2
    measure(given.folder, given.list)
    return 0


if __name__ == "__main__":
    sys.exit(main())
