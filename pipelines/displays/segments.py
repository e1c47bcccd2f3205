"""Reading digits from the geometry of their segments: no network, so it fails in other ways than one.

The strip is turned into ink and ground, digits are the runs of columns with ink, and each digit is known by
which of its seven segments hold ink.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays.straighten import Image, Photo, Quad, cut, rectangle, sides

HEIGHT = 64
_MARGIN = 0.3
_Mask = NDArray[np.bool_]

_DIGITS = {
    frozenset("abcdef"): "0",
    frozenset("bc"): "1",
    frozenset("abdeg"): "2",
    frozenset("abcdg"): "3",
    frozenset("bcfg"): "4",
    frozenset("acdfg"): "5",
    frozenset("acdefg"): "6",
    frozenset("cdefg"): "6",
    frozenset("abc"): "7",
    frozenset("abcf"): "7",
    frozenset("abcdefg"): "8",
    frozenset("abcdfg"): "9",
    frozenset("abcfg"): "9",
    frozenset("def"): "L",
    frozenset("adefg"): "E",
    frozenset("eg"): "r",
}
# Where each segment is looked for: left, top, right, bottom as shares of the digit's cell.
_PLACES = {
    "a": (0.3, 0.0, 0.7, 0.2),
    "b": (0.68, 0.15, 1.0, 0.42),
    "c": (0.68, 0.58, 1.0, 0.85),
    "d": (0.3, 0.8, 0.7, 1.0),
    "e": (0.0, 0.58, 0.32, 0.85),
    "f": (0.0, 0.15, 0.32, 0.42),
    "g": (0.3, 0.4, 0.7, 0.6),
}


@dataclass(frozen=True)
class _Run:
    left: int
    right: int

    @property
    def width(self) -> int:
        return self.right - self.left


def flatten(photo: Photo, quad: Quad) -> Image:
    """The digits straightened, HEIGHT pixels high with a margin all round."""
    across, down = sides(quad)
    width = min(across / down, 12.0) * HEIGHT
    edge = HEIGHT * _MARGIN
    size = (round(HEIGHT + 2 * edge), round(width + 2 * edge))
    return cut(photo, quad, rectangle(edge, edge, width, HEIGHT), size)


def _levelled(plane: NDArray[np.float32]) -> NDArray[np.float32]:
    """A plane without its slow changes of light: shadows and soft reflections no longer count."""
    return np.asarray(plane - cv2.GaussianBlur(plane, (0, 0), HEIGHT * 0.7), np.float32)


def ink(strip: Image) -> _Mask | None:
    """Which pixels belong to lit segments; None when nothing stands out."""
    soft = cv2.GaussianBlur(strip, (0, 0), 1.0).astype(np.float32)
    edge = round(HEIGHT * _MARGIN)
    inner = np.s_[edge : edge + HEIGHT, edge // 2 : -(edge // 2)]
    best: tuple[float, _Mask] | None = None
    for plane in (soft.mean(axis=2), soft.max(axis=2), soft[..., 0], soft[..., 1], soft[..., 2]):
        level = _levelled(np.asarray(plane, np.float32))
        low, high = np.percentile(level[inner], (2, 98))
        if high - low < 8:
            continue
        scaled = np.clip((level - low) / (high - low) * 255, 0, 255).astype(np.uint8)
        threshold, _ = cv2.threshold(
            np.ascontiguousarray(scaled[inner]), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU
        )
        bright = scaled > threshold
        up, down = scaled[inner][bright[inner]], scaled[inner][~bright[inner]]
        if not len(up) or not len(down):
            continue
        parted = float((up.mean() - down.mean()) / (up.std() + down.std() + 6))
        mask = bright if bright[inner].mean() < 0.5 else ~bright
        if best is None or parted > best[0]:
            best = (parted, mask)
    return None if best is None or best[0] < 1.7 else best[1]


def _sheared(mask: _Mask, slant: float) -> _Mask:
    h, w = mask.shape
    middle = h / 2
    move = np.array([[1, slant, -slant * middle], [0, 1, 0]], np.float64)
    return np.asarray(cv2.warpAffine(mask.astype(np.uint8), move, (w, h), flags=cv2.INTER_NEAREST) > 0)


def upright(mask: _Mask) -> _Mask:
    """The mask sheared so that its upright strokes stand upright: then columns change most sharply."""
    best, sharpest = mask, -1.0
    for slant in np.linspace(-0.15, 0.4, 23):
        turned = _sheared(mask, float(slant))
        columns = turned.sum(axis=0).astype(np.float64)
        sharp = float((columns**2).sum())
        if sharp > sharpest:
            best, sharpest = turned, sharp
    return best


def _runs(columns: NDArray[np.bool_]) -> list[_Run]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], columns, [False]]).astype(np.int8)))
    return [_Run(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _lit(cell: _Mask) -> frozenset[str]:
    h, w = cell.shape
    on = set()
    for name, (x0, y0, x1, y1) in _PLACES.items():
        part = cell[
            int(y0 * h) : max(int(y1 * h), int(y0 * h) + 1), int(x0 * w) : max(int(x1 * w), int(x0 * w) + 1)
        ]
        # A lying segment must reach across, a standing one down: then its thickness does not matter.
        reach = part.any(axis=0) if name in "adg" else part.any(axis=1)
        if reach.mean() > 0.7:
            on.add(name)
    return frozenset(on)


def _foot_goes_on(run: _Run, body: _Mask, cell: float) -> bool:
    """Whether the lowest bar of a narrow character reaches far to its right."""
    foot = body[int(HEIGHT * 0.85) :, run.right : run.right + round(0.4 * cell)]
    return bool(foot.size and foot.any(axis=0).mean() > 0.8)


def _glyph(run: _Run, body: _Mask, cell: float) -> str | None:
    """One character; empty for a speck, None for something unknown."""
    piece = body[:, run.left : run.right]
    rows = np.flatnonzero(piece.any(axis=1))
    h = body.shape[0]
    if not len(rows):
        return ""
    top, bottom = rows[0] / h, (rows[-1] + 1) / h
    if run.width < 0.5 * cell and bottom - top > 0.7:
        # An L looks the same above its foot; it is left to the other readers.
        return None if _foot_goes_on(run, body, cell) else "1"
    if top > 0.3 and bottom < 0.7:
        return "-" if run.width > 0.3 * cell else ""
    if run.width < 0.6 * cell:
        return "" if bottom - top < 0.3 else None
    return _DIGITS.get(_lit(piece))


def read_segments(photo: Photo, quad: Quad) -> str | None:
    """The text as the segments' geometry gives it, or None when the shapes do not fit.

    Args:
        photo: the photo.
        quad: corners of the digits in the photo.
    """
    mask = ink(flatten(photo, quad))
    if mask is None:
        return None
    edge = round(HEIGHT * _MARGIN)
    mask = upright(mask)
    body = mask[edge - 2 : edge + HEIGHT + 2, round(edge * 0.5) : -round(edge * 0.5) or None]
    # Points stand at the foot, so digits are told apart above it.
    runs = [r for r in _runs(np.asarray(body[: int(HEIGHT * 0.8)].any(axis=0))) if r.width >= 3]
    if not runs:
        return None
    widths = [r.width for r in runs if r.width > 0.25 * HEIGHT]
    cell = float(np.median(widths)) if widths else 0.5 * HEIGHT
    text, before = "", 0
    for run in [*runs, _Run(body.shape[1], body.shape[1])]:
        if text and _point_between(body, before, run.left):
            text += "."
        if run.width:
            char = _glyph(run, body, cell)
            if char is None:
                return None
            text += char
        before = run.right
    return text.rstrip(".") or None


def _point_between(body: _Mask, left: int, right: int) -> bool:
    """Whether the gap between two digits holds ink at its foot and none above."""
    gap = body[:, left:right]
    if gap.shape[1] < 3:
        return False
    foot = gap[int(HEIGHT * 0.8) :]
    return bool(foot.sum() > 0.004 * HEIGHT * HEIGHT and foot.any(axis=1).sum() >= 4)
