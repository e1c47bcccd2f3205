"""Single drawn examples for the networks that find and read digits, with what they should answer."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pipelines.displays.alphabet import (
    CHARACTERS,
    STRIP_HEIGHT,
    STRIP_WIDTH,
)
from pipelines.displays.training.backgrounds import clutter, plain_scene, texture
from pipelines.displays.training.effects import camera
from pipelines.displays.training.mishaps import mishap, with_a_hidden_digit, with_a_lost_end
from pipelines.displays.training.panel import Panel, Picture, Rect, draw_panel
from pipelines.displays.training.render import corners, paste, warp_points
from pipelines.displays.training.styles import random_style, random_unit

Image = NDArray[np.uint8]
Quad = NDArray[np.float64]

SCENE = 512
STRIDE = 4
MOST_QUADS = 4

_LETTERS = (
    "Lo",
    "hi",
    "HoLd",
    "bAtt",
    "OFF",
    "OPEn",
    "CAL",
    "ALt",
    "Hi",
    "Lob",
    "P-1",
    "nonE",
    "do",
    "CH",
    "dEL",
    "Un",
)
_OVERLOADS = (
    "OL",
    "OL",
    "OL",
    "-OL",
    "0L",
    "O.L",
    ".OL",
    "OL.",
    "Err",
    "E",
    "Err1",
    "E-1",
    "E02",
    "L",
    "-L",
    "EEE",
    "----",
    "---",
)


def random_number(rng: Generator) -> str:
    """A number as gauges show them: some with leading zeros, a point, a minus sign."""
    count = int(rng.choice([1, 2, 3, 4, 5, 6, 7, 8], p=[0.05, 0.11, 0.2, 0.26, 0.16, 0.12, 0.06, 0.04]))
    digits = rng.integers(0, 10, count)
    if rng.random() < 0.27:
        digits[: int(rng.integers(1, count + 1))] = 0
    if rng.random() < 0.15:
        digits[rng.random(count) < 0.5] = rng.choice([1, 7, 8, 0])
    if rng.random() < 0.1:
        # The narrowest digit is the first to be taken for an edge, and to be lost.
        digits[0] = 1
    text = "".join(map(str, digits))
    if rng.random() < 0.68 and count > 1:
        place = int(rng.integers(1, count))
        text = f"{text[:place]}.{text[place:]}"
    elif rng.random() < 0.06:
        text = "." + text
    return "-" + text if rng.random() < 0.18 else text


def random_text(rng: Generator) -> str:
    """What a display shows: mostly a number, sometimes a mark, letters, a time, or nothing."""
    pick = rng.random()
    if pick < 0.82:
        return random_number(rng)
    if pick < 0.87:
        return str(rng.choice(_OVERLOADS))
    if pick < 0.90:
        return str(rng.choice(_LETTERS))
    if pick < 0.925:
        return f"{rng.integers(0, 24)}:{rng.integers(0, 60):02d}"
    return ""


def label(text: str) -> str:
    """The text in the recogniser's own characters."""
    return "".join("0" if c in "OD" else c if c in CHARACTERS else "?" for c in text)


def random_panel(rng: Generator, digit_px: float, text: str | None = None) -> tuple[Panel, str]:
    """A random face, and the text it shows."""
    shown = random_text(rng) if text is None else text
    places = sum(c not in ".:" for c in shown)
    style = random_style(rng, max(places, int(rng.integers(1, 5))))
    unit = random_unit(rng) if rng.random() < 0.8 else ""
    return draw_panel(shown, unit, style, digit_px), shown


_POOL: list[Picture] = []


def ground(size: tuple[int, int], rng: Generator) -> Picture:
    """A background cut from a slowly renewed pool, because drawing noise anew is the dearest step."""
    if len(_POOL) < 24:
        _POOL.append(texture((640, 640), rng))
    elif rng.random() < 0.05:
        _POOL[int(rng.integers(0, 24))] = texture((640, 640), rng)
    source = _POOL[int(rng.integers(0, len(_POOL)))]
    y, x = int(rng.integers(0, 641 - size[0])), int(rng.integers(0, 641 - size[1]))
    piece = source[y : y + size[0], x : x + size[1]]
    piece = piece[:, ::-1] if rng.random() < 0.5 else piece
    gain = np.exp(rng.normal(0, 0.25, 3)).astype(np.float32)
    return np.asarray(np.clip(piece * gain, 0, 255), np.float32)


@dataclass(frozen=True)
class Scene:
    """A scene for the locating network.

    Attributes:
        picture: SCENE x SCENE RGB; what the picture does not fill is grey.
        quads: corners of every group of digits in pixels, MOST_QUADS x 4 x 2, unused ones zero.
        owner: for each output pixel the number of its group from 1 on, or 0.
        window: for each output pixel 1 inside a display's window.
    """

    picture: Image
    quads: NDArray[np.float32]
    owner: Image
    window: Image


def _scene_homography(panel: Panel, size: tuple[int, int], rng: Generator) -> NDArray[np.float64]:
    """A place in the picture at which the digits are seen whole (now and then cut by the edge)."""
    h, w = size
    focus = panel.digits or panel.window
    source = corners(focus)
    middle = source.mean(axis=0)
    fw, fh = focus[2] - focus[0], focus[3] - focus[1]
    share = float(np.exp(rng.uniform(np.log(0.08), np.log(0.95))))
    scale = min(share * w / fw, rng.uniform(0.25, 0.97) * h / fh)
    scale = max(scale, 9.0 / fh)
    stretch = np.exp(rng.normal(0, 0.33, 2)) if rng.random() < 0.5 else np.ones(2)
    if h < w / 3 and rng.random() < 0.5:
        # Long strips are often digits stretched to a fixed size.
        stretch[0] *= np.exp(rng.uniform(0, 0.8))
        scale = min(scale, 0.95 * w / (fw * stretch[0]))
    tight = scale * fw > 0.6 * w or scale * fh > 0.5 * h
    angle = np.deg2rad(np.clip(rng.normal(0, 4 if tight else 17), -50, 50))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    reach = max(panel.picture.shape[:2])
    lean = rng.uniform(-1, 1, (4, 2)) * reach * abs(rng.normal(0, 0.06))
    face = corners((0, 0, panel.picture.shape[1], panel.picture.shape[0]))
    spread = (face - middle + lean) * scale * stretch @ turn.T
    hull = (source - middle) * scale * stretch @ turn.T
    room = np.array([w, h]) - (hull.max(axis=0) - hull.min(axis=0))
    low = -hull.min(axis=0)
    slack = 0.08 * np.array([w, h]) if rng.random() < 0.06 else 0.0
    at = (
        low
        + np.where(room > 0, rng.random(2) * np.maximum(room, 0), room / 2)
        + rng.uniform(-1, 1, 2) * slack
    )
    target = (spread + at).astype(np.float32)
    return np.asarray(cv2.getPerspectiveTransform(face.astype(np.float32), target))


def _fill(mask: Image, quad: Quad, value: int) -> None:
    cv2.fillPoly(mask, [np.round(quad / STRIDE * 16).astype(np.int32)], value, cv2.LINE_8, 4)


def _core(quad: Quad) -> Quad:
    """The inner part of a group, so that neighbouring lines stay apart."""
    tl, tr, br, bl = quad
    height = float(np.linalg.norm(bl - tl) + np.linalg.norm(br - tr)) / 2
    width = float(np.linalg.norm(tr - tl) + np.linalg.norm(br - bl)) / 2
    x, y = min(0.25 * height / max(width, 1), 0.25), 0.22
    u = np.array([(x, y), (1 - x, y), (1 - x, 1 - y), (x, 1 - y)])
    top, bottom = tl + (tr - tl) * u[:, :1], bl + (br - bl) * u[:, :1]
    return np.asarray(top + (bottom - top) * u[:, 1:])


def scene_lesson(rng: Generator) -> Scene:
    """A scene with no, one or two displays."""
    size = (SCENE, SCENE)
    if rng.random() < 0.4:
        size = (int(np.exp(rng.uniform(np.log(72), np.log(SCENE)))), SCENE)
    if rng.random() < 0.25:
        size = (SCENE, int(rng.integers(300, SCENE + 1)))
    picture = ground(size, rng)
    if rng.random() < 0.7:
        clutter(picture, rng, 10)
    quads = np.zeros((MOST_QUADS, 4, 2), np.float32)
    owner = np.zeros((SCENE // STRIDE, SCENE // STRIDE), np.uint8)
    window = np.zeros_like(owner)
    found = 0
    for _ in range(int(rng.choice([0, 1, 2], p=[0.14, 0.74, 0.12]))):
        panel, _ = random_panel(rng, float(rng.choice([28, 40, 56])))
        homography = _scene_homography(panel, size, rng)
        area = warp_points(corners((0, 0, panel.picture.shape[1], panel.picture.shape[0])), homography)
        if found and _covers(area, quads[:found]):
            continue
        picture = paste(panel, homography, picture)
        _fill(window, warp_points(corners(panel.window), homography), 1)
        for rect in (panel.digits, panel.second):
            if rect is not None and found < MOST_QUADS:
                quad = warp_points(corners(rect), homography)
                quads[found] = quad
                found += 1
                _fill(owner, _core(quad), found)
    mirror = ground((max(16, size[0] // 6), SCENE // 6), rng)
    image = camera(picture, rng, float(rng.choice([0.3, 0.7, 1.0])), 0.5, mirror)
    whole = np.full((SCENE, SCENE, 3), 127, np.uint8)
    whole[: size[0], : size[1]] = image
    for mask in (owner, window):
        mask[-(-size[0] // STRIDE) :] = 0
        mask[:, -(-size[1] // STRIDE) :] = 0
    return Scene(whole, quads, owner, window)


def _covers(area: Quad, quads: NDArray[np.float32]) -> bool:
    """Whether a new face would hide digits that are there already."""
    hull = area.astype(np.float32)
    return any(
        cv2.pointPolygonTest(hull, tuple(map(float, p)), False) >= 0
        for q in quads
        for p in (*q, q.mean(axis=0))
    )


def _strip_homography(rect: Rect, rng: Generator) -> tuple[NDArray[np.float64], int]:
    """From panel to strip pixels, loosely round the digits; and the width of the strip."""
    fw, fh = rect[2] - rect[0], rect[3] - rect[1]
    height = float(np.clip(rng.normal(30, 4.5), 17, 44))
    scale = height / fh
    stretch = float(np.clip(np.exp(rng.normal(0.08, 0.36)), 0.5, 2.4))
    left = float(rng.uniform(0.1, 1.3) if rng.random() < 0.8 else rng.uniform(0.05, 3)) * height
    right = float(rng.uniform(0.1, 1.3) if rng.random() < 0.8 else rng.uniform(0.05, 3)) * height
    width = fw * scale * stretch
    width = float(np.clip(width, 4, STRIP_WIDTH - 24))
    left, right = min(left, (STRIP_WIDTH - width) / 2), min(right, (STRIP_WIDTH - width) / 2)
    low = max(1.0, (STRIP_HEIGHT - height) / 2)
    top = float(np.clip(STRIP_HEIGHT / 2 - height / 2 + rng.normal(0, 3), 0.5, 2 * low))
    target = corners((left, top, left + width, top + height))
    shear = rng.normal(0, 0.08 if rng.random() < 0.85 else 0.2) * height
    target[:2, 0] += shear
    tilt = np.tan(np.deg2rad(rng.normal(0, 2.0)))
    target[:, 1] += (target[:, 0] - target[:, 0].mean()) * np.clip(
        tilt, -6 / max(width, 40), 6 / max(width, 40)
    )
    target += rng.normal(0, 0.02, (4, 2)) * height
    if rng.random() < 0.2:
        # Seen from the side, one end is farther away and lower than the other.
        nearer = float(rng.uniform(0.7, 1))
        ends = [0, 3] if rng.random() < 0.5 else [1, 2]
        target[ends, 1] = STRIP_HEIGHT / 2 + (target[ends, 1] - STRIP_HEIGHT / 2) * nearer
    source = corners(rect).astype(np.float32)
    homography = cv2.getPerspectiveTransform(source, target.astype(np.float32))
    return np.asarray(homography), int(np.ceil(left + width + right))


def _kept(strip: Picture, homography: NDArray[np.float64], rect: Rect, rng: Generator) -> Picture:
    """The strip as if the photo ended just beyond the digits."""
    hull = warp_points(corners(rect), homography)
    gap = rng.uniform(1, 8)
    x0 = int(np.clip(hull[:, 0].min() - gap, 0, strip.shape[1] - 2))
    x1 = int(np.clip(hull[:, 0].max() + gap, x0 + 1, strip.shape[1]))
    strip[:, :x0] = strip[:, x0 : x0 + 1]
    strip[:, x1:] = strip[:, x1 - 1 : x1]
    return strip


def _cut_off(
    strip: Picture, homography: NDArray[np.float64], panel: Panel, rng: Generator
) -> tuple[Picture, str] | None:
    """The strip as if the photo ended within a digit, and what can still be read; that digit says ``?``."""
    last = bool(rng.random() < 0.5)
    mark = panel.cells[-1 if last else 0]
    if len(panel.cells) < 2 or not mark.says[:1].isdigit():
        return None
    share = rng.uniform(0.15, 0.65)
    across = mark.right - mark.left
    edge = mark.left + share * across if last else mark.right - share * across
    middle = (panel.window[1] + panel.window[3]) / 2
    x = int(np.clip(warp_points(np.array([(edge, middle)]), homography)[0, 0], 2, strip.shape[1] - 2))
    if last:
        strip[:, x:] = strip[:, x - 1 : x]
        return strip, label("".join(c.says for c in panel.cells[:-1])) + "?"
    strip[:, :x] = strip[:, x : x + 1]
    return strip, "?" + mark.says[1:] + label("".join(c.says for c in panel.cells[1:]))


def _spoilt(
    strip: Picture, says: str, homography: NDArray[np.float64], panel: Panel, rng: Generator
) -> tuple[Picture, str]:
    """Now and then the strip with its surroundings or a digit lost, and what can still be read of it."""
    pick = rng.random()
    if pick < 0.13 and panel.digits is not None:
        return _kept(strip, homography, panel.digits, rng), says
    if pick < 0.17 and panel.cells:
        return _cut_off(strip.copy(), homography, panel, rng) or (strip, says)
    if pick < 0.2 and (hidden := with_a_hidden_digit(strip, homography, panel, rng)):
        return hidden[0], label("".join(hidden[1]))
    if pick < 0.22 and (lost := with_a_lost_end(strip, homography, panel, rng)):
        return lost[0], label("".join(lost[1]))
    return strip, says


def _mirrored_scene(rng: Generator) -> Picture:
    """What is mirrored in the window: light and shade, or things with outlines."""
    if rng.random() < 0.6:
        return ground((STRIP_HEIGHT // 4, STRIP_WIDTH // 4), rng)
    scene = ground((STRIP_HEIGHT, STRIP_WIDTH), rng)
    clutter(scene, rng, 8)
    return np.asarray(np.clip(1.3 * (scene - 127) + 127, 0, 255), np.float32)


def strip_lessons(rng: Generator, views: int = 3) -> list[tuple[Image, int, str]]:
    """Strips cut round the digits of one face: picture (grey behind its width), width, and text."""
    if rng.random() < 0.05:
        picture = plain_scene((STRIP_HEIGHT, STRIP_WIDTH), rng)
        return [(camera(picture, rng), STRIP_WIDTH, "")]
    panel, text = random_panel(rng, float(rng.uniform(24, 44)))
    focus = panel.digits
    if focus is None:
        x0, y0, x1, y1 = panel.window
        middle = (y0 + y1) / 2
        focus = (
            x0 + 4,
            middle - panel.digit_height / 2,
            max(x0 + 12, x1 - 4),
            middle + panel.digit_height / 2,
        )
    below = ground((STRIP_HEIGHT, STRIP_WIDTH), rng)
    mirror = _mirrored_scene(rng)
    out = []
    for _ in range(views):
        if panel.second is not None and rng.random() < 0.25:
            homography, width = _strip_homography(panel.second, rng)
            strip, says = paste(panel, homography, below)[:, :width], label(panel.second_text)
        else:
            homography, width = _strip_homography(focus, rng)
            strip, says = paste(panel, homography, below)[:, :width], label(text)
            strip, says = _spoilt(strip, says, homography, panel, rng)
        whole = np.full((STRIP_HEIGHT, STRIP_WIDTH, 3), 127, np.uint8)
        harm = float(rng.choice([0.4, 1.0, 1.3], p=[0.4, 0.42, 0.18]))
        whole[:, :width] = camera(mishap(strip, rng), rng, harm, 0.25, mirror)
        out.append((whole, width, says))
    return out
