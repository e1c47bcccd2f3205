"""Drawn pictures that hold no digital display: walls, floors, parts, plates, dials with needles."""

import cv2
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pipelines.displays.training.lettering import fonts, word_mask

Picture = NDArray[np.float32]

_WORDS = (
    "HOLD", "RANGE", "ZERO", "MODE", "ON/OFF", "MIN MAX", "UNIT", "LIGHT", "SET", "TARE", "AUTO", "DC", "AC",
    "MADE IN", "CAUTION", "MAX 600", "CAT III", "INPUT", "COM", "PRESS", "LOAD", "OIL", "NO. 4", "SERIAL",
    "TYPE", "MODEL", "STEP", "RESET", "START", "F1", "10A", "240", "1500 LB", "PART", "TIRE", "REV B", "BATT",
)  # fmt: skip


def any_word(rng: Generator) -> str:
    """A word or number as they are printed on things in a workshop."""
    pick = rng.random()
    if pick < 0.55:
        return str(rng.choice(_WORDS))
    if pick < 0.8:
        return str(rng.integers(0, 10 ** int(rng.integers(1, 7))))
    letters = "ABCDEFGHKLMNPRSTUVWXYZ0123456789-./"
    return "".join(rng.choice(list(letters), int(rng.integers(2, 10))))


def colour(rng: Generator, low: float = 10, high: float = 245) -> NDArray[np.float32]:
    """A random colour, more often dull than bright."""
    grey = rng.uniform(low, high)
    spread = rng.choice([6, 20, 70], p=[0.55, 0.33, 0.12])
    return np.clip(grey + rng.normal(0, spread, 3), 0, 255).astype(np.float32)


def texture(size: tuple[int, int], rng: Generator) -> Picture:
    """Noise of several grain sizes over one colour: concrete, cloth, rust, brushed metal."""
    h, w = size
    out = np.empty((h, w, 3), np.float32)
    out[:] = colour(rng)
    for _ in range(int(rng.integers(1, 4))):
        grain = float(np.exp(rng.uniform(0, np.log(min(h, w) / 4))))
        stretch = float(np.exp(rng.normal(0, 0.8))) if rng.random() < 0.4 else 1.0
        shape = (max(2, int(h / grain)), max(2, int(w / (grain * stretch))))
        coloured = rng.random() < 0.4
        speckle = rng.standard_normal((*shape, 3 if coloured else 1), dtype=np.float32)
        layer = cv2.resize(speckle, (w, h), interpolation=cv2.INTER_LINEAR).reshape(h, w, -1)
        out += layer * np.float32(abs(rng.normal(0, 18)))
    if rng.random() < 0.3:
        step = rng.uniform(6, min(h, w) / 3)
        angle = rng.uniform(0, np.pi)
        y, x = np.mgrid[0:h, 0:w].astype(np.float32)
        wave = np.sin((x * np.cos(angle) + y * np.sin(angle)) * np.float32(2 * np.pi / step))
        wave = np.sign(wave) if rng.random() < 0.5 else wave
        out += wave[..., None] * np.float32(rng.uniform(5, 40))
    return np.clip(out, 0, 255)


def _shape(picture: Picture, rng: Generator, reach: float) -> None:
    h, w = picture.shape[:2]
    centre = (int(rng.uniform(0, w)), int(rng.uniform(0, h)))
    paint = tuple(float(v) for v in colour(rng))
    kind = rng.integers(0, 5)
    size = int(max(3, rng.uniform(0.02, 0.5) * reach))
    width = -1 if rng.random() < 0.6 else int(rng.integers(1, 8))
    if kind == 0:
        cv2.circle(picture, centre, size, paint, width, cv2.LINE_AA)
    elif kind == 1:
        box = cv2.boxPoints((centre, (size * rng.uniform(0.5, 3), size), rng.uniform(0, 180)))
        if width < 0:
            cv2.fillPoly(picture, [box.astype(np.int32)], paint, cv2.LINE_AA)
        else:
            cv2.polylines(picture, [box.astype(np.int32)], True, paint, width, cv2.LINE_AA)
    elif kind == 2:
        end = (int(rng.uniform(0, w)), int(rng.uniform(0, h)))
        cv2.line(picture, centre, end, paint, int(rng.integers(1, 12)), cv2.LINE_AA)
    elif kind == 3:
        angle = float(rng.uniform(0, 360))
        cv2.ellipse(picture, centre, (size, max(2, size // 3)), angle, 0, 360, paint, width, cv2.LINE_AA)
    else:
        corners = np.array(centre) + rng.normal(0, size, (int(rng.integers(3, 7)), 2))
        cv2.fillPoly(picture, [corners.astype(np.int32)], paint, cv2.LINE_AA)


def write(picture: Picture, word: str, rng: Generator, height: float, at: tuple[float, float]) -> None:
    """Print a word at a point, turned a little, in a random font and colour."""
    font = str(rng.choice(fonts()))
    mask = word_mask(word, font, height)
    turn = cv2.getRotationMatrix2D((0, 0), float(rng.normal(0, 15)), 1.0)
    h, w = picture.shape[:2]
    reach = mask.shape[0] + mask.shape[1]
    x0, y0 = max(0, int(at[0]) - reach), max(0, int(at[1]) - reach)
    x1, y1 = min(w, int(at[0]) + reach), min(h, int(at[1]) + reach)
    paint, strength = colour(rng), np.float32(rng.uniform(0.4, 1) / 255)
    if x1 - x0 < 2 or y1 - y0 < 2:
        return
    turn[:, 2] += (at[0] - x0, at[1] - y0)
    cover = cv2.warpAffine(mask, turn, (x1 - x0, y1 - y0)).astype(np.float32)[..., None]
    region = picture[y0:y1, x0:x1]
    region += (paint - region) * cover * strength


def dial(picture: Picture, rng: Generator, centre: tuple[float, float], radius: float) -> None:
    """A round gauge with ticks, printed numbers and a needle."""
    face, mark = colour(rng, 150, 250), colour(rng, 0, 70)
    if rng.random() < 0.25:
        face, mark = mark, face
    spot = (int(centre[0]), int(centre[1]))
    rim, pen = tuple(map(float, colour(rng))), tuple(map(float, mark))
    cv2.circle(picture, spot, int(radius * 1.12), rim, -1, cv2.LINE_AA)
    cv2.circle(picture, spot, int(radius), tuple(map(float, face)), -1, cv2.LINE_AA)
    ticks, sweep = int(rng.integers(20, 101)), rng.uniform(4, 6.2)
    start = np.pi / 2 + (2 * np.pi - sweep) / 2
    every = int(rng.choice([2, 5, 10]))
    font = str(rng.choice(fonts()))
    h, w = picture.shape[:2]
    for i in range(ticks + 1):
        angle = start + sweep * i / ticks
        ray = np.array([np.cos(angle), np.sin(angle)])
        long = i % every == 0
        inner, outer = (
            np.array(centre) + ray * radius * (0.8 if long else 0.87),
            np.array(centre) + ray * radius * 0.95,
        )
        cv2.line(
            picture,
            inner.astype(int).tolist(),
            outer.astype(int).tolist(),
            pen,
            max(1, int(radius / 70)),
            cv2.LINE_AA,
        )
        if long and every > 2:
            mask = word_mask(str(i * 10), font, max(4.0, radius * 0.12))
            x, y = (np.array(centre) + ray * radius * 0.65 - np.array(mask.shape[::-1]) / 2).astype(int)
            if x >= 0 and y >= 0 and x + mask.shape[1] <= w and y + mask.shape[0] <= h:
                region = picture[y : y + mask.shape[0], x : x + mask.shape[1]]
                region += (mark - region) * (mask.astype(np.float32)[..., None] / 255)
    angle = start + sweep * rng.random()
    tip = (np.array(centre) + np.array([np.cos(angle), np.sin(angle)]) * radius * 0.8).astype(int).tolist()
    needle = tuple(map(float, colour(rng)))
    cv2.line(picture, spot, tip, needle, max(1, int(radius / 25)), cv2.LINE_AA)
    cv2.circle(picture, spot, max(2, int(radius / 10)), needle, -1, cv2.LINE_AA)


def _grille(picture: Picture, rng: Generator) -> None:
    """Rows of dark slots, as of vents, keys and connectors: they look like segments."""
    h, w = picture.shape[:2]
    paint = tuple(map(float, colour(rng)))
    step = rng.uniform(0.02, 0.12) * w
    slot = (step * rng.uniform(0.2, 0.8), step * rng.uniform(0.3, 3))
    x0, y0 = rng.uniform(0, 0.7) * w, rng.uniform(0, 0.7) * h
    for row in range(int(rng.integers(1, 6))):
        for column in range(int(rng.integers(2, 9))):
            x, y = x0 + column * step, y0 + row * slot[1] * 1.4
            cv2.rectangle(picture, (int(x), int(y)), (int(x + slot[0]), int(y + slot[1])), paint, -1)


def clutter(picture: Picture, rng: Generator, most: int = 14) -> None:
    """Draw parts, edges, cables, plates, dials and print over a picture."""
    h, w = picture.shape[:2]
    for _ in range(int(rng.integers(0, most))):
        _shape(picture, rng, min(h, w))
    for _ in range(int(rng.integers(0, 5))):
        at = (rng.uniform(-0.1, 0.9) * w, rng.uniform(0, 0.95) * h)
        write(picture, any_word(rng), rng, float(np.exp(rng.uniform(np.log(5), np.log(h * 0.15)))), at)
    if rng.random() < 0.2:
        dial(picture, rng, (rng.uniform(0, w), rng.uniform(0, h)), rng.uniform(0.1, 0.45) * min(h, w))
    if rng.random() < 0.2:
        _grille(picture, rng)


def plain_scene(size: tuple[int, int], rng: Generator) -> Picture:
    """A picture without any display, before the camera's effects."""
    picture = texture(size, rng)
    if rng.random() < 0.8:
        clutter(picture, rng)
    return picture
