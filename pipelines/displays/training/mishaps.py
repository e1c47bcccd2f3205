"""What befalls a strip of digits besides a camera: bad glass, bad light, bands, hidden digits."""

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


def banded(strip: Picture, rng: Generator) -> Picture:
    """Dark bands across, as when a display that is lit in turns meets a short exposure."""
    h, w = strip.shape[:2]
    length, line = (w, np.arange(w)[None, :]) if rng.random() < 0.3 else (h, np.arange(h)[:, None])
    period = rng.uniform(0.5, 2.5) * length
    wave = 0.5 + 0.5 * np.sin(2 * np.pi * (line / period + rng.random()))
    sharp = float(np.exp(rng.uniform(0, np.log(4))))
    dark = np.clip((wave - 0.5) * sharp + 0.5, 0, 1) * rng.uniform(0.2, 0.75)
    return np.asarray(strip * (1 - dark[..., None]), np.float32)


def rippled(strip: Picture, rng: Generator) -> Picture:
    """Fine coloured waves, as where the grid of a sensor meets the grid of a display."""
    h, w = strip.shape[:2]
    angle, period = rng.uniform(0, np.pi), np.exp(rng.uniform(np.log(2.5), np.log(16)))
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    along = (x * np.cos(angle) + y * np.sin(angle)) * np.float32(2 * np.pi / period)
    along = along + np.float32(rng.uniform(0, 3)) * np.sin(y * np.float32(rng.uniform(0.02, 0.15)))
    phase = rng.uniform(0, 2 * np.pi) + rng.normal(0, 0.8, 3) * (rng.random() < 0.6)
    waves = np.sin(along[..., None] + phase.astype(np.float32))
    return np.asarray(strip * (1 + np.float32(rng.uniform(0.04, 0.2)) * waves), np.float32)


def spattered(strip: Picture, rng: Generator) -> Picture:
    """Drops, dust and grease on the window, each with a bright rim or a dark body."""
    h, w = strip.shape[:2]
    out = strip.copy()
    for _ in range(int(rng.integers(1, 14))):
        cover = np.zeros((h, w), np.uint8)
        size = float(np.exp(rng.uniform(np.log(0.6), np.log(0.22 * h))))
        spot = np.round(rng.uniform(0, 1, 2) * (w, h) * 16).astype(int).tolist()
        axes = np.round(size * np.exp(rng.normal(0, 0.3, 2)) * 16).astype(int).tolist()
        turn, thick = float(rng.uniform(0, 180)), -1 if rng.random() < 0.7 else 1
        cv2.ellipse(cover, spot, axes, turn, 0.0, 360.0, 255, thick, cv2.LINE_AA, 4)
        paint = np.float32(rng.uniform(0, 255))
        out += (paint - out) * (cover[..., None] * np.float32(rng.uniform(0.1, 0.6) / 255))
    return out


def doubled(strip: Picture, rng: Generator) -> Picture:
    """A weaker second image beside the first, as thick glass and a moved camera give."""
    h, w = strip.shape[:2]
    angle, away = rng.uniform(0, 2 * np.pi), rng.uniform(1, 5)
    move = np.array([(1, 0, away * np.cos(angle)), (0, 1, away * np.sin(angle))], np.float32)
    second = cv2.warpAffine(strip, move, (w, h), borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(strip + (second - strip) * np.float32(rng.uniform(0.1, 0.38)), np.float32)


_GLASS = ((scratched, 0.06), (half_veiled, 0.14), (spattered, 0.06), (doubled, 0.06))
_LIGHT = ((tinted, 0.12), (banded, 0.05), (rippled, 0.05))


def mishap(strip: Picture, rng: Generator) -> Picture:
    """Mostly the same strip, else one through bad glass or in bad light."""
    for harm, share in (*_GLASS, *_LIGHT):
        if rng.random() < share:
            strip = harm(strip, rng)
    return strip


def with_a_lost_end(
    strip: Picture, homography: NDArray[np.float64], panel: Panel, rng: Generator
) -> tuple[Picture, list[str]] | None:
    """The strip burnt out or dark from one end on, and what each place says then.

    Args:
        strip: the digits, not yet as a camera sees them.
        homography: from the panel's pixels to the strip's.
        panel: the face.
        rng: chooses the end, how much is lost and how.

    Returns:
        None when there are too few digits. What is lost says one ``?``.
    """
    if len(panel.cells) < 3 or panel.digits is None:
        return None
    lost, at_end = int(rng.integers(1, 3)), bool(rng.random() < 0.5)
    kept = panel.cells[:-lost] if at_end else panel.cells[lost:]
    if len(kept) < 2:
        return None
    says = [cell.says for cell in kept]
    first = panel.cells[-lost] if at_end else panel.cells[lost - 1]
    edge = (kept[-1].right, first.right) if at_end else (kept[0].left, first.left)
    inner, outer = (warp_points(np.array([(x, panel.digits[1])]), homography)[0, 0] for x in edge)
    # The first place lost goes bit by bit: an edge of the case is sharp, and hides nothing.
    reach = (outer - inner) * rng.uniform(0.4, 0.9)
    x = np.arange(strip.shape[1], dtype=np.float32)[None, :]
    bend = rng.normal(0, 0.12) * np.linspace(-1, 1, strip.shape[0], dtype=np.float32)[:, None]
    cover = np.clip((x - np.float32(inner)) / np.float32(reach) + bend, 0, 1)[..., None]
    bright = rng.random() < 0.7
    paint = rng.uniform(228, 255, 3) if bright else rng.uniform(0, 45) + rng.normal(0, 8, 3)
    out = strip + (np.clip(paint, 0, 255).astype(np.float32) - strip) * cover
    return np.asarray(out, np.float32), [*says, "?"] if at_end else ["?", *says]


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
