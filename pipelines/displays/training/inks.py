"""Laying the inks of a drawn face over its window and case."""

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays.training.face import Colour, PanelStyle
from pipelines.displays.training.lettering import Mask

Picture = NDArray[np.float32]


def _blend(picture: Picture, mask: Mask, colour: Colour, opacity: float) -> None:
    rows, columns = np.flatnonzero(mask.max(axis=1)), np.flatnonzero(mask.max(axis=0))
    if not len(rows) or opacity == 0:
        return
    part = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    alpha = mask[part].astype(np.float32)[..., None] * np.float32(opacity / 255)
    picture[part] += (np.array(colour, np.float32) - picture[part]) * alpha


def rounded(size: tuple[int, int]) -> Picture:
    """A rectangle with round corners that fills a picture: 1 inside, 0 outside."""
    h, w = size
    cover = np.zeros((h, w), np.uint8)
    radius = max(2, round(min(h, w) * 0.06))
    cv2.rectangle(cover, (radius, 0), (w - radius, h), 255, -1)
    cv2.rectangle(cover, (0, radius), (w, h - radius), 255, -1)
    for cx, cy in ((radius, radius), (w - radius, radius), (radius, h - radius), (w - radius, h - radius)):
        cv2.circle(cover, (cx, cy), radius, 255, -1, cv2.LINE_AA)
    return np.asarray(cover, np.float32) / np.float32(255)


def _left_of_ink(style: PanelStyle, size: tuple[int, int], window: tuple[int, int, int, int]) -> Picture:
    """The share of its ink that each pixel keeps, as factors for rows (h x 1 or h x w)."""
    h, w = size
    x0, y0, x1, y1 = window
    kept = np.ones((h, w), np.float32)
    if style.fade:
        ends = (1.0, 1 - style.fade) if style.fade > 0 else (1 + style.fade, 1.0)
        kept *= np.linspace(*ends, w, dtype=np.float32)
    across = (np.arange(w, dtype=np.float32) - x0) / max(x1 - x0, 1)
    down = (np.arange(h, dtype=np.float32) - y0) / max(y1 - y0, 1)
    for patch in style.washed:
        x, y = (across - patch.x) / patch.across, (down - patch.y) / patch.down
        # Steep at its edge and flat inside, like the outline of something bright.
        kept *= 1 - patch.lost / (1 + (x * x)[None, :] ** 2 + (y * y)[:, None] ** 2)
    return kept


def _burn(picture: Picture, lit: Mask, thickness: float, whiteness: float) -> None:
    """Whiten the middle of lit segments, as where a camera has more light than it can tell apart."""
    soft = cv2.GaussianBlur(lit, (0, 0), max(0.5, thickness * 0.3)).astype(np.float32) / 255
    core = (np.clip(2.2 * soft - 1, 0, 1) * 255).astype(np.uint8)
    _blend(picture, np.minimum(core, lit), (255, 255, 255), whiteness)


def compose(
    style: PanelStyle,
    window: tuple[float, float, float, float],
    height: float,
    masks: tuple[Mask, Mask, Mask, Mask],
) -> Picture:
    """The face in colour.

    Args:
        style: colours, opacities and unevenness.
        window: left, top, right, bottom in pixels.
        height: height of a digit in pixels.
        masks: lit ink, unlit segments, unlit words, print on the case.
    """
    lit, ghost, other, printed = masks
    h, w = lit.shape
    picture = np.empty((h, w, 3), np.float32)
    picture[:] = style.case
    # Light from above makes the case a little brighter there.
    picture *= np.linspace(1.06, 0.94, h, dtype=np.float32)[:, None, None]
    x0, y0, x1, y1 = (round(v) for v in window)
    edge = max(1, round(height * 0.05))
    picture[max(0, y0 - edge) : y1 + edge, max(0, x0 - edge) : x1 + edge] *= 0.6
    picture[y0:y1, x0:x1] = style.ground
    picture[y0:y1, x0:x1] *= np.linspace(0.97, 1.03, y1 - y0, dtype=np.float32)[:, None, None]
    if style.backlight:
        falling = (
            np.linspace(0, 3, x1 - x0, dtype=np.float32)
            if style.backlight > 0
            else np.linspace(3, 0, x1 - x0, dtype=np.float32)
        )
        picture[y0:y1, x0:x1] *= (1 - abs(style.backlight) * (1 - np.exp(-falling)))[None, :, None]
    _blend(picture, ghost, style.ink, style.ghost)
    _blend(picture, other, style.ink, max(style.ghost, 0.04))
    if style.glow > 0:
        reach = max(1.0, height * style.glow_reach)
        light = cv2.GaussianBlur(lit, (0, 0), reach).astype(np.float32)[..., None] / 255
        picture += light * np.array(style.ink, np.float32) * np.float32(style.glow)
    if style.fade or style.washed:
        lit = (lit * _left_of_ink(style, (h, w), (x0, y0, x1, y1))).astype(np.uint8)
    across, down, opacity = style.shadow
    if opacity > 0:
        move = np.array([(1, 0, across * height), (0, 1, down * height)], np.float32)
        cast = cv2.GaussianBlur(cv2.warpAffine(lit, move, (w, h)), (0, 0), max(0.5, height * 0.02))
        _blend(picture, np.asarray(cast, np.uint8), style.ink, opacity * style.strength)
    _blend(picture, lit, style.ink, style.strength)
    if style.burnt > 0:
        _burn(picture, lit, height * style.shape.thickness, style.burnt)
    pale = sum(style.case) < 330
    _blend(picture, printed, (225, 225, 222) if pale else (35, 35, 38), 0.9)
    return np.clip(picture, 0, 255)
