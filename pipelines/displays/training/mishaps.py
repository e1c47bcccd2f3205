"""What befalls a strip of digits besides a camera: scratches, odd colours, veils, hidden digits."""

import cv2
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pipelines.displays.training.panel import Panel, Picture
from pipelines.displays.training.render import corners, warp_points


def scratched(strip: Picture, rng: Generator) -> Picture:
    """Fine bright and dark lines, as on a window that has been wiped with grit."""
    h, w = strip.shape[:2]
    cover = np.zeros((h, w), np.uint8)
    lean = rng.normal(0, 0.5) + (np.pi / 2 if rng.random() < 0.3 else 0.0)
    for _ in range(int(rng.integers(2, 14))):
        middle = rng.uniform(0, 1, 2) * (w, h)
        angle, reach = lean + rng.normal(0, 0.25), rng.uniform(0.2, 2) * h
        way = np.array([np.cos(angle), np.sin(angle)]) * reach / 2
        ends = np.round(np.stack([middle - way, middle + way]) * 16).astype(int)
        cv2.line(cover, ends[0].tolist(), ends[1].tolist(), int(rng.integers(60, 256)), 1, cv2.LINE_AA, 4)
    paint = np.float32(rng.uniform(150, 255) if rng.random() < 0.7 else rng.uniform(0, 60))
    return np.asarray(strip + (paint - strip) * (cover[..., None] * np.float32(rng.uniform(0.2, 0.8) / 255)))


def tinted(strip: Picture, rng: Generator) -> Picture:
    """Colours as a camera makes them of a strong backlight: one channel burnt out, another nearly empty."""
    gain = np.exp(rng.normal(0, 0.55, 3)).astype(np.float32)
    mix = rng.uniform(0, 0.35)
    grey = strip.mean(axis=2, keepdims=True)
    return np.asarray(np.clip((strip * (1 - mix) + grey * mix) * gain, 0, 255), np.float32)


def half_veiled(strip: Picture, rng: Generator) -> Picture:
    """One side under an even veil with an edge: a reflection, or the shadow of a hand."""
    h, w = strip.shape[:2]
    angle = rng.normal(0, 0.6) + (np.pi if rng.random() < 0.5 else 0.0)
    x = np.arange(w, dtype=np.float32)[None, :] - np.float32(rng.uniform(0.1, 0.9) * w)
    y = np.arange(h, dtype=np.float32)[:, None] - np.float32(h / 2)
    soft = np.exp(rng.uniform(0, np.log(2 * h)))
    away = (x * np.cos(angle) + y * np.sin(angle)) / soft
    veil = np.clip(away + 0.5, 0, 1).astype(np.float32)[..., None]
    if rng.random() < 0.35:
        return np.asarray(strip * (1 - veil * np.float32(rng.uniform(0.2, 0.75))), np.float32)
    paint = np.clip(rng.uniform(120, 255) + rng.normal(0, 20, 3), 0, 255).astype(np.float32)
    return np.asarray(strip + (paint - strip) * veil * np.float32(rng.uniform(0.2, 0.75)), np.float32)


def with_a_hidden_digit(
    strip: Picture, homography: NDArray[np.float64], panel: Panel, rng: Generator
) -> tuple[Picture, list[str]] | None:
    """The strip with something over one digit, and what each place says then (``?`` where nothing is seen).

    Args:
        strip: the digits, not yet as a camera sees them.
        homography: from the panel's pixels to the strip's.
        panel: the face.
        rng: chooses the digit and what lies over it.

    Returns:
        None when there is no digit without a point, or too few.
    """
    plain = [i for i, cell in enumerate(panel.cells) if cell.says.isdigit()]
    if len(panel.cells) < 3 or not plain or panel.digits is None:
        return None
    at = plain[int(rng.integers(0, len(plain)))]
    cell = panel.cells[at]
    # A narrow digit fills but a part of its place, and what hides it is seldom narrower than the place.
    room = 0.16 * panel.digit_height
    rect = (cell.left - room * 0.6, panel.digits[1], cell.right + room * 0.6, panel.digits[3])
    quad = warp_points(corners(rect), homography)
    middle, size = quad.mean(axis=0), np.ptp(quad, axis=0)
    cover = np.zeros(strip.shape[:2], np.float32)
    if rng.random() < 0.5:
        axes = np.round(size * (rng.uniform(0.56, 0.66), rng.uniform(0.62, 0.9)) * 16).astype(int)
        spot = np.round(middle * 16).astype(int).tolist()
        cv2.ellipse(cover, spot, axes.tolist(), 0.0, 0.0, 360.0, 1.0, -1, cv2.LINE_AA, 4)
    else:
        grown = middle + (quad - middle) * (1.0, rng.uniform(1.0, 1.5)) + rng.normal(0, 0.03, (4, 2)) * size
        cv2.fillConvexPoly(cover, np.round(grown * 16).astype(np.int32), 1.0, cv2.LINE_AA, 4)
    cover = cv2.GaussianBlur(cover, (0, 0), rng.uniform(0.4, 1.6))
    bright = rng.random() < 0.6
    paint = rng.uniform(225, 255, 3) if bright else rng.uniform(10, 200) + rng.normal(0, 15, 3)
    out = strip + (np.clip(paint, 0, 255).astype(np.float32) - strip) * cover[..., None]
    return np.asarray(out, np.float32), ["?" if i == at else c.says for i, c in enumerate(panel.cells)]
