"""Finding groups of digits and the windows of displays in a whole photo."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays import models_onnx
from pipelines.displays.straighten import (
    Image,
    Photo,
    Quad,
    cut,
    homography_between,
    map_points,
    rectangle,
    sides,
)

STRIDE = 4
_CORNER_UNIT = 64.0
_SCALES = (640, 1120)
_REFINED = (192, 448)
_LONGEST_STRIP = 4.0
_CUT_OUT = 3.2
_LONGEST_TEXT = 4.6
# Digits at least so high, compared with the largest, count as equally large.
LARGE = 0.72


@dataclass(frozen=True)
class Group:
    """A group of digits.

    Attributes:
        quad: top left, top right, bottom right, bottom left corner in pixels of the photo.
        score: 0 to 1, how sure the network is that digits stand here.
    """

    quad: Quad
    score: float

    @property
    def height(self) -> float:
        """Height of a digit in pixels."""
        return sides(self.quad)[1]


@dataclass(frozen=True)
class Found:
    """What a photo holds.

    Attributes:
        groups: most likely the main display first.
        window: 0 to 1, how sure it is that a display, lit or not, is in the picture.
    """

    groups: tuple[Group, ...]
    window: float


def _scores(image: Image) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Digit and window scores (2 x h x w) and corner offsets (8 x h x w) of a picture up to its own edge."""
    h, w = image.shape[:2]
    whole = np.full((-(-h // 32) * 32, -(-w // 32) * 32, 3), 127, np.uint8)
    whole[:h, :w] = image
    pixels = whole.transpose(2, 0, 1)[None].astype(np.float32) / 127.5 - 1
    out = models_onnx.run("locate", pixels)[0][:, : -(-h // STRIDE), : -(-w // STRIDE)]
    return 1 / (1 + np.exp(-out[:2])), out[2:] * _CORNER_UNIT


def _groups(image: Image, least: float) -> tuple[list[Group], float]:
    """Groups in pixels of ``image``, and the score of the surest window."""
    score, offset = _scores(image)
    digits = score[0]
    count, labels = cv2.connectedComponents((digits > 0.4).astype(np.uint8), connectivity=4)
    out = []
    for index in range(1, count):
        rows, columns = np.nonzero(labels == index)
        weight = digits[rows, columns]
        if len(rows) < 3 or weight.max() < least:
            continue
        here = np.stack([columns, rows], axis=1) * STRIDE + STRIDE / 2
        corners = offset[:, rows, columns].T.reshape(-1, 4, 2) + here[:, None]
        # A pixel knows the corners on its own side best.
        along = (here - here.mean(axis=0)) @ _direction(corners.mean(axis=0))
        side = np.clip(0.5 + along / (np.ptp(along) + 1e-6), 0.05, 0.95)
        share = np.stack([1 - side, side, side, 1 - side], axis=1) ** 2 * weight[:, None]
        quad = (corners * share[..., None]).sum(axis=0) / share.sum(axis=0)[:, None]
        out.append(Group(quad, float(np.sort(weight)[len(weight) // 3 :].mean())))
    return out, float(_plateau(score[1]))


def _direction(quad: Quad) -> NDArray[np.float64]:
    along = (quad[1] - quad[0]) + (quad[2] - quad[3])
    return np.asarray(along / (np.linalg.norm(along) + 1e-9))


def _plateau(score: NDArray[np.float32]) -> float:
    """The score that an area of at least a few pixels reaches."""
    calm = cv2.blur(score, (5, 5))
    return float(calm.max()) if calm.size else 0.0


def _resized(photo: Photo, longest: int) -> tuple[Image, NDArray[np.float64]]:
    """The picture at a size for the network, and the factors of width and height."""
    h, w = photo.size
    factor = longest / max(h, w)
    # A very long strip is mostly one that somebody stretched; squeezed, its digits look like digits again.
    squeeze = min(1.0, _LONGEST_STRIP * h / w)
    new = (max(16, round(w * factor * squeeze)), max(16, round(h * factor)))
    way = cv2.INTER_AREA if factor < 1 else cv2.INTER_LINEAR
    image, _ = photo.copy_for(1 / factor)
    return np.asarray(cv2.resize(image, new, interpolation=way), np.uint8), np.array([new[0] / w, new[1] / h])


def _refined(photo: Photo, group: Group) -> Group:
    """The same group seen straight on and at a good size, which gives its corners more exactly."""
    across, down = sides(group.quad)
    h, w = _REFINED
    height = min(72.0, 0.62 * w * down / across)
    width = min(across / down, _LONGEST_TEXT) * height
    target = rectangle((w - width) / 2, (h - height) / 2, width, height)
    groups, _ = _groups(cut(photo, group.quad, target, _REFINED), 0.5)
    near = [g for g in groups if _overlap(g.quad, target) > 0.4]
    if not near:
        return group
    best = max(near, key=lambda g: _overlap(g.quad, target))
    back = homography_between(target, group.quad)
    return Group(map_points(best.quad, back), max(group.score, best.score))


def _overlap(quad: Quad, other: Quad) -> float:
    """Shared area as a share of the joined area, of two convex quadrilaterals."""
    a, b = quad.astype(np.float32), other.astype(np.float32)
    shared, _ = cv2.intersectConvexConvex(a, b)
    joined = abs(cv2.contourArea(a)) + abs(cv2.contourArea(b)) - shared
    return float(shared / joined) if joined > 0 else 0.0


def _sane(quad: Quad) -> bool:
    across, down = sides(quad)
    area = cv2.contourArea(quad.astype(np.float32), oriented=True)
    return bool(area > 0.5 * across * down and 0.15 < across / down < 14)


def find(photo: Photo, most: int = 3) -> Found:
    """Find the displays of a photo.

    Args:
        photo: the photo.
        most: at most so many groups of digits.

    Returns:
        Groups with the main one first: the largest digits, and of lines about equally large the top one.
    """
    window, groups = 0.0, []
    for longest in _SCALES:
        small, factor = _resized(photo, longest)
        seen, shown = _groups(small, 0.6)
        window = max(window, shown)
        groups = [Group(g.quad / factor, g.score) for g in seen if _sane(g.quad)]
        if groups:
            break
    groups = sorted(groups, key=lambda g: -g.height * g.score)[:most]
    exact: list[Group] = []
    for group in (_refined(photo, g) for g in groups):
        if _sane(group.quad) and all(_overlap(group.quad, other.quad) < 0.3 for other in exact):
            exact.append(group)
    return Found(tuple(main_first(exact)), window)


def whole_strip(photo: Photo) -> Group | None:
    """All of a picture that is a long strip, cut to its digits already; None for other pictures."""
    h, w = photo.size
    if w < _CUT_OUT * h:
        return None
    return Group(rectangle(0.03 * w, 0.16 * h, 0.94 * w, 0.68 * h), 0.5)


def main_first(groups: list[Group]) -> list[Group]:
    """Groups in the order in which they are likely to be what was meant."""
    if not groups:
        return []
    tallest = max(g.height for g in groups)
    large = [g for g in groups if g.height >= LARGE * tallest]
    rest = [g for g in groups if g.height < LARGE * tallest]
    return sorted(large, key=lambda g: float(g.quad[:, 1].mean())) + sorted(rest, key=lambda g: -g.height)
