"""Drawn photos of gauges: a face in a scene, seen through a camera.

The same seed always gives the same picture.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pipelines.displays.training.backgrounds import clutter, plain_scene, texture
from pipelines.displays.training.effects import camera, jpeg, light, noise, spot
from pipelines.displays.training.face import PanelStyle
from pipelines.displays.training.panel import Panel, Picture, Rect, draw_panel
from pipelines.displays.training.styles import STYLES

Quad = NDArray[np.float64]


@dataclass(frozen=True)
class View:
    """How the face lies in the picture.

    Attributes:
        turn: degrees, positive turns the face clockwise.
        width: width of the face as a share of the picture's width.
        lean: how strongly perspective pulls the corners, as a share of the face's size.
        centre: where the middle of the face lies, as shares of the picture's width and height.
    """

    turn: float = 0.0
    width: float = 0.5
    lean: float = 0.0
    centre: tuple[float, float] = (0.5, 0.5)


def corners(rect: Rect) -> Quad:
    """Corners of a rectangle: top left, top right, bottom right, bottom left."""
    x0, y0, x1, y1 = rect
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], np.float64)


def placement(
    face: tuple[int, int], size: tuple[int, int], view: View, rng: Generator
) -> NDArray[np.float64]:
    """The homography from the face's pixels to the picture's.

    Args:
        face: height and width of the face.
        size: height and width of the picture.
        view: how it lies.
        rng: pulls the corners apart by ``view.lean``.
    """
    h, w = face
    scale = view.width * size[1] / w
    angle = np.deg2rad(view.turn)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    source = corners((0, 0, w, h))
    lean = rng.uniform(-view.lean, view.lean, (4, 2)) * (w * 0.5 + h * 0.5, h)
    flat = (source + lean - (w / 2, h / 2)) * scale
    target = flat @ turn.T + (view.centre[0] * size[1], view.centre[1] * size[0])
    return np.asarray(cv2.getPerspectiveTransform(source.astype(np.float32), target.astype(np.float32)))


def warp_points(points: Quad, homography: NDArray[np.float64]) -> Quad:
    """Points carried over by a homography."""
    ones = np.concatenate([points, np.ones((len(points), 1))], axis=1) @ homography.T
    return np.asarray(ones[:, :2] / ones[:, 2:])


def paste(panel: Panel, homography: NDArray[np.float64], ground: Picture) -> Picture:
    """The face laid over a background, with the soft shadow of its edge."""
    height, width = ground.shape[:2]
    soft = max(1.0, width / 160)
    hull = warp_points(corners((0, 0, panel.picture.shape[1], panel.picture.shape[0])), homography)
    reach = 4 * soft
    x0, y0 = np.clip(np.floor(hull.min(axis=0) - reach), 0, (width - 1, height - 1)).astype(int)
    x1, y1 = np.clip(np.ceil(hull.max(axis=0) + reach), (x0 + 1, y0 + 1), (width, height)).astype(int)
    shifted = np.array([[1, 0, -x0], [0, 1, -y0], [0, 0, 1]], np.float64) @ homography
    size = (int(x1 - x0), int(y1 - y0))
    cover = cv2.warpPerspective(panel.cover, shifted, size, flags=cv2.INTER_LINEAR)
    face = cv2.warpPerspective(panel.picture, shifted, size, flags=cv2.INTER_LINEAR)
    shadow = cv2.GaussianBlur(cover, (0, 0), soft)
    out = ground.copy()
    below = out[y0:y1, x0:x1] * (1 - np.float32(0.45) * shadow[..., None])
    out[y0:y1, x0:x1] = below + (face - below) * cover[..., None]
    return out


def render_scene(
    text: str,
    unit: str,
    style: PanelStyle | str,
    rng: Generator,
    *,
    view: View | None = None,
    size: tuple[int, int] = (960, 1280),
    harm: float = 0.3,
) -> NDArray[np.uint8]:
    """Draw a photo of a gauge.

    Args:
        text: characters shown: digits, ``.``, ``-``, ``:`` and the letters of ``glyphs.SEGMENTS``; empty
            for a display that is off.
        unit: the word of the unit that is lit or printed, such as ``mm`` or ``°F``; empty for none.
        style: a face, or the name of one of ``styles.STYLES`` (caliper, dial_indicator, pressure_gauge,
            multimeter, thermometer).
        rng: decides everything not given; the same seed gives the same picture.
        view: where the face lies and how it is turned; by default somewhere near the middle, a little turned.
        size: height and width of the picture in pixels.
        harm: 0 for a clean picture, 1 for a poor phone in bad light.

    Returns:
        RGB, height x width x 3.
    """
    face = STYLES[style] if isinstance(style, str) else style
    if view is None:
        middle = (float(rng.uniform(0.4, 0.6)), float(rng.uniform(0.4, 0.6)))
        view = View(float(rng.uniform(-12, 12)), float(rng.uniform(0.4, 0.6)), 0.04, middle)
    ground = texture(size, rng)
    clutter(ground, rng, 5)
    ground = cv2.GaussianBlur(ground, (0, 0), size[1] / 500)
    panel = draw_panel(text, unit, face, digit_px=96.0)
    scene = paste(panel, placement(panel.picture.shape[:2], size, view, rng), ground)
    scene = light(scene, rng, 0.5 * harm + 0.1)
    shine = (float(rng.uniform(0, size[1])), float(rng.uniform(0, size[0])))
    scene = spot(scene, shine, (size[1] / 6, size[0] / 6), 0.3 * harm)
    if harm > 0:
        scene = cv2.GaussianBlur(scene, (0, 0), 0.4 + harm)
        scene = noise(scene, rng, 8 * harm, 2)
    return jpeg(scene, 90)


def render_plain(rng: Generator, size: tuple[int, int] = (960, 1280), harm: float = 0.5) -> NDArray[np.uint8]:
    """Draw a photo that shows no digital display: wall, floor, parts, printed plate, gauge with a needle."""
    return camera(plain_scene(size, rng), rng, harm)
