"""Shapes of seven-segment characters.

A character stands in a cell one unit high, with y pointing down; the letters a to g name the segments as data
sheets of such displays do (a on top, then clockwise, g in the middle).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Polygon = NDArray[np.float64]
Joint = Literal["mitre", "hex", "butt"]

SEGMENTS: dict[str, str] = {
    "0": "abcdef",
    "1": "bc",
    "2": "abdeg",
    "3": "abcdg",
    "4": "bcfg",
    "5": "acdfg",
    "6": "acdefg",
    "7": "abc",
    "8": "abcdefg",
    "9": "abcdfg",
    "-": "g",
    "O": "abcdef",
    "L": "def",
    "E": "adefg",
    "r": "eg",
    "o": "cdeg",
    "A": "abcefg",
    "b": "cdefg",
    "C": "adef",
    "c": "deg",
    "d": "bcdeg",
    "F": "aefg",
    "H": "bcefg",
    "h": "cefg",
    "n": "ceg",
    "P": "abefg",
    "t": "defg",
    "U": "bcdef",
    "u": "cde",
    "J": "bcde",
    "y": "bcdfg",
    "i": "c",
    " ": "",
}
# Makers differ in whether these digits have a tail or a hook.
VARIANTS: dict[str, str] = {"6": "cdefg", "7": "abcf", "9": "abcfg"}


@dataclass(frozen=True)
class DigitShape:
    """How the segments of a display are cut. All lengths are shares of the digit's height.

    Attributes:
        width: width of a digit.
        thickness: width of a segment.
        gap: free space between two segments.
        joint: how segments meet: mitred corners, pointed ends, or straight cuts.
        slant: how far the top leans to the right.
        variants: digits drawn in their second form (``6`` and ``9`` without a tail, ``7`` with a hook).
        parted: the middle bar is two bars, as in displays that show letters too.
    """

    width: float = 0.55
    thickness: float = 0.12
    gap: float = 0.015
    joint: Joint = "mitre"
    slant: float = 0.08
    variants: frozenset[str] = frozenset()
    parted: bool = False

    def lit(self, char: str) -> str:
        """The segments that show a character."""
        return VARIANTS[char] if char in self.variants else SEGMENTS[char]


def _bar(start: tuple[float, float], end: tuple[float, float], half: float, tip: float) -> Polygon:
    """A straight segment between two points; ``tip`` is the length of its pointed ends."""
    p, q = np.array(start), np.array(end)
    along = (q - p) / np.linalg.norm(q - p)
    side = np.array([-along[1], along[0]]) * half
    inner_p, inner_q = p + along * tip, q - along * tip
    return np.array([p, inner_p + side, inner_q + side, q, inner_q - side, inner_p - side])


def _mitred(w: float, t: float, g: float) -> dict[str, Polygon]:
    h = t / 2
    mid = 0.5
    return {
        "a": np.array([(g, 0), (w - g, 0), (w - t - g, t), (t + g, t)]),
        "d": np.array([(t + g, 1 - t), (w - t - g, 1 - t), (w - g, 1), (g, 1)]),
        "f": np.array([(0, g), (t, t + g), (t, mid - h - g), (h, mid - g), (0, mid - h - g / 2)]),
        "e": np.array([(0, mid + h + g / 2), (h, mid + g), (t, mid + h + g), (t, 1 - t - g), (0, 1 - g)]),
        "b": np.array([(w, g), (w, mid - h - g / 2), (w - h, mid - g), (w - t, mid - h - g), (w - t, t + g)]),
        "c": np.array(
            [(w - t, mid + h + g), (w - h, mid + g), (w, mid + h + g / 2), (w, 1 - g), (w - t, 1 - t - g)]
        ),
        "g": _bar((h + g, mid), (w - h - g, mid), h, h),
    }


def segment_polygons(shape: DigitShape) -> dict[str, Polygon]:
    """Outlines in an upright cell ``shape.width`` wide and 1 high; a name begins with its segment, a to g."""
    whole = _whole_segments(shape)
    if not shape.parted:
        return whole
    bar = whole.pop("g")
    left, right, half = bar[:, 0].min(), bar[:, 0].max(), shape.thickness / 2
    middle, free = (left + right) / 2, max(shape.gap, 0.02) / 2
    ends = (("g", (left, middle - free)), ("g2", (middle + free, right)))
    return whole | {name: _bar((x0, 0.5), (x1, 0.5), half, half) for name, (x0, x1) in ends}


def _whole_segments(shape: DigitShape) -> dict[str, Polygon]:
    w, t, g = shape.width, shape.thickness, shape.gap
    if shape.joint == "mitre":
        return _mitred(w, t, g)
    h = t / 2
    tip = h if shape.joint == "hex" else 0.0
    left, right, top, mid, low = h, w - h, h, 0.5, 1 - h
    # Straight cuts: the standing bars run the whole way and the lying ones fit between them.
    back, stand, foot = (g, g, top) if shape.joint == "hex" else (g + h, g / 2, 0.0)
    ends = {
        "a": ((left + back, top), (right - back, top)),
        "g": ((left + back, mid), (right - back, mid)),
        "d": ((left + back, low), (right - back, low)),
        "f": ((left, foot + stand), (left, mid - stand)),
        "e": ((left, mid + stand), (left, 1 - foot - stand)),
        "b": ((right, foot + stand), (right, mid - stand)),
        "c": ((right, mid + stand), (right, 1 - foot - stand)),
    }
    return {name: _bar(start, end, h, tip) for name, (start, end) in ends.items()}


def point_polygon(size: float, round_point: bool) -> Polygon:
    """Outline of a decimal point with its lower left corner at (0, 1)."""
    if round_point:
        angle = np.linspace(0, 2 * np.pi, 16, endpoint=False)
        circle = np.stack([np.cos(angle), np.sin(angle)], axis=1) * size / 2
        return np.asarray(circle + np.array([size / 2, 1 - size / 2]))
    return np.array([(0, 1 - size), (size, 1 - size), (size, 1), (0, 1)])


def sheared(polygon: Polygon, slant: float) -> Polygon:
    """The polygon leaning to the right by ``slant`` of its cell's height."""
    out = polygon.copy()
    out[:, 0] += slant * (1 - polygon[:, 1])
    return out
