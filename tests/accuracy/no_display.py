"""Pictures without a digital display: how often the reader rightly reads nothing.

Usage::

    python -m tests.accuracy.no_display [--each N] [--least SHARE]

Draws N pictures of each kind (walls, floors, parts, gauges with needles, plates with printed numbers), reads
them, and prints for each kind how many gave no reading. Exit code 1 when the share over all is below SHARE.
"""

import argparse
import sys
from collections.abc import Callable

import numpy as np
from numpy.random import Generator

from pipelines.displays import read_display
from pipelines.displays.training.backgrounds import Picture, any_word, clutter, dial, texture, write
from pipelines.displays.training.effects import camera

SIZE = (960, 1280)


def wall(rng: Generator) -> Picture:
    """One surface, close up."""
    return texture(SIZE, rng)


def floor(rng: Generator) -> Picture:
    """A surface with joints, stains and cables."""
    picture = texture(SIZE, rng)
    for step in range(0, SIZE[1], int(rng.integers(90, 400))):
        picture[:, step : step + int(rng.integers(2, 9))] *= np.float32(rng.uniform(0.4, 0.9))
    clutter(picture, rng, 4)
    return picture


def parts(rng: Generator) -> Picture:
    """Shapes over shapes, as in a wheel well: edges, holes, bolts, fins, now and then print."""
    picture = texture(SIZE, rng)
    for _ in range(3):
        clutter(picture, rng, 14)
    return picture


def needle(rng: Generator) -> Picture:
    """A round gauge with a needle, large in the picture."""
    picture = texture(SIZE, rng)
    radius = rng.uniform(0.25, 0.46) * SIZE[0]
    centre = (rng.uniform(radius, SIZE[1] - radius), rng.uniform(0.45, 0.55) * SIZE[0])
    dial(picture, rng, centre, radius)
    return picture


def plate(rng: Generator) -> Picture:
    """Lines of printed words and numbers on a plate."""
    picture = texture(SIZE, rng)
    picture[150:810, 140:1140] = rng.uniform(40, 240, 3)
    for line in range(int(rng.integers(3, 8))):
        at = (float(rng.uniform(160, 500)), 180.0 + line * 80)
        write(picture, any_word(rng), rng, float(rng.uniform(18, 60)), at)
    return picture


KINDS: dict[str, Callable[[Generator], Picture]] = {
    "wall": wall,
    "floor": floor,
    "parts": parts,
    "gauge with a needle": needle,
    "printed plate": plate,
}


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--each", type=int, default=40)
    parser.add_argument("--least", type=float, default=0.99)
    given = parser.parse_args()
    none = 0
    for k, (kind, draw) in enumerate(KINDS.items()):
        right = 0
        for n in range(given.each):
            rng = np.random.default_rng([78, k, n])
            reading = read_display(camera(draw(rng), rng, float(rng.uniform(0.1, 0.7))), "0")
            right += reading.text is None
            if reading.text is not None:
                print(f"  {kind} {n}: {reading.text} {reading.confidence:.2f} {reading.reason or 'SURE'}")
        print(f"{kind:20} {right} of {given.each} give no reading", flush=True)
        none += right
    share = none / (given.each * len(KINDS))
    print(f"{'all':20} {share:.3f}")
    return 0 if share >= given.least else 1


if __name__ == "__main__":
    sys.exit(main())
