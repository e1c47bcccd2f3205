"""Single drawn examples for the networks that find and name the unit, with what they should answer."""

import cv2
import numpy as np
from numpy.random import Generator

from pipelines.displays.alphabet import (
    SHEET_DIGIT,
    SHEET_LEFT,
    SHEET_SIZE,
    SHEET_TEXT,
    UNIT_CODES,
    WORD_INK,
    WORD_SIZE,
    WORD_WIDEST,
)
from pipelines.displays.training.backgrounds import any_word, colour, texture
from pipelines.displays.training.effects import camera, coarse, repeated_edge
from pipelines.displays.training.glyphs import segment_polygons, sheared
from pipelines.displays.training.lessons import STRIDE, Image, ground, random_number, random_panel
from pipelines.displays.training.lettering import fonts, word_mask
from pipelines.displays.training.panel import Picture
from pipelines.displays.training.render import corners, paste, warp_points
from pipelines.displays.training.styles import OTHER_UNITS, UNIT_WORDS, random_colours, random_shape

_CODE_OF = {word: code for code, words in UNIT_WORDS.items() for word in words}


def sheet_lesson(rng: Generator) -> tuple[Image, Image]:
    """A sheet round the digits, and the class of the unit at each output pixel (255: either is right)."""
    panel, _ = random_panel(rng, float(rng.uniform(28, 52)), random_number(rng))
    h, w = SHEET_SIZE
    rect = panel.digits or panel.window
    fw, fh = rect[2] - rect[0], rect[3] - rect[1]
    scale = min(SHEET_DIGIT / fh, SHEET_TEXT / fw) * float(np.exp(rng.normal(0, 0.1)))
    stretch = float(np.exp(rng.normal(0, 0.15)))
    x, y = SHEET_LEFT + rng.normal(0, 8), (h - fh * scale) / 2 + rng.normal(0, 5)
    target = corners((x, y, x + fw * scale * stretch, y + fh * scale))
    target[:2, 0] += rng.normal(0, 0.08) * fh * scale
    target += rng.normal(0, 0.015, (4, 2)) * fh * scale
    homography = np.asarray(
        cv2.getPerspectiveTransform(corners(rect).astype(np.float32), target.astype(np.float32))
    )
    picture = paste(panel, homography, ground((h, w), rng))
    classes = np.zeros((h // STRIDE, w // STRIDE), np.uint8)
    for mark in panel.units:
        code = _CODE_OF.get(mark.word)
        value = 255 if not mark.lit else 1 if code is None else 2 + UNIT_CODES.index(code)
        x0, y0, x1, y1 = mark.rect
        dx, dy = (x1 - x0) * 0.1, (y1 - y0) * 0.1
        area = warp_points(corners((x0 + dx, y0 + dy, x1 - dx, y1 - dy)), homography)
        cv2.fillPoly(classes, [np.round(area / STRIDE * 16).astype(np.int32)], value, cv2.LINE_8, 4)
    return camera(picture, rng, float(rng.choice([0.2, 0.5, 0.9]))), classes


def _random_word(rng: Generator) -> tuple[str, int]:
    """A word and its class."""
    pick = rng.random()
    if pick < 0.72:
        index = int(rng.integers(0, len(UNIT_CODES)))
        return str(rng.choice(UNIT_WORDS[UNIT_CODES[index]])), index + 2
    if pick < 0.86:
        return str(rng.choice(OTHER_UNITS)), 1
    word = any_word(rng)
    return word, 2 + UNIT_CODES.index(_CODE_OF[word]) if word in _CODE_OF else 0


def _surroundings(picture: Picture, rng: Generator, ink: tuple[float, float, float]) -> None:
    """A piece of a digit on the left, an edge of the window, or a bit of another word."""
    h, w = picture.shape[:2]
    if rng.random() < 0.35:
        shape = random_shape(rng)
        size = h * rng.uniform(1.2, 3.5)
        corner = np.array([-shape.width * size * rng.uniform(0.6, 1.05), h * rng.uniform(-1.5, 0.2)])
        for polygon in segment_polygons(shape).values():
            if rng.random() < 0.75:
                points = (sheared(polygon, shape.slant) * size + corner).astype(np.int32)
                cv2.fillPoly(picture, [points], ink, cv2.LINE_AA)
    if rng.random() < 0.45:
        x = int(w * rng.uniform(0.7, 1)) if rng.random() < 0.6 else w
        y = int(h * rng.uniform(0.85, 1)) if rng.random() < 0.4 else h
        paint = colour(rng)
        picture[:, x:] = paint
        picture[y:] = paint
    if rng.random() < 0.25:
        mask = word_mask(any_word(rng), str(rng.choice(fonts())), h * rng.uniform(0.3, 0.7))
        x, y = int(rng.uniform(0, w * 0.8)), int(h * rng.uniform(0.85, 1))
        piece = mask[: h - y, : w - x]
        region = picture[y : y + piece.shape[0], x : x + piece.shape[1]]
        region += (np.array(ink, np.float32) - region) * (piece.astype(np.float32)[..., None] / 255)


def word_lesson(rng: Generator) -> tuple[Image, int]:
    """A piece of a photo with one word near its middle, and the word's class."""
    h, w = WORD_SIZE
    if rng.random() < 0.06:
        return camera(texture((h, w), rng), rng), 0
    word, kind = _random_word(rng)
    colours = random_colours(rng)
    ink, under = colours["ink"], colours["ground"]
    if rng.random() < 0.25:
        ink, under = tuple(map(float, colour(rng))), tuple(map(float, colour(rng)))
    zoom = 2
    picture = np.empty((h * zoom, w * zoom, 3), np.float32)
    picture[:] = under
    _surroundings(picture, rng, ink)
    mask = word_mask(word, str(rng.choice(fonts())), 48)
    scale = (
        min(WORD_INK / mask.shape[0], WORD_WIDEST / mask.shape[1])
        * zoom
        * float(np.exp(rng.normal(-0.05, 0.17)))
    )
    stretch = float(np.exp(rng.normal(0, 0.14)))
    size = np.array([mask.shape[1] * scale * stretch, mask.shape[0] * scale])
    corner = (np.array([w, h]) * zoom - size) / 2 + rng.normal(0, 2.5, 2) * zoom
    target = corners((corner[0], corner[1], corner[0] + size[0], corner[1] + size[1]))
    target[:2, 0] += rng.normal(0, 0.1) * size[1]
    target += rng.normal(0, 0.04, (4, 2)) * size[1]
    source = corners((0, 0, mask.shape[1], mask.shape[0])).astype(np.float32)
    homography = cv2.getPerspectiveTransform(source, target.astype(np.float32))
    cover = cv2.warpPerspective(mask, homography, (w * zoom, h * zoom)).astype(np.float32)[..., None] / 255
    opacity = np.float32(rng.uniform(0.4, 1) if rng.random() < 0.3 else rng.uniform(0.8, 1))
    picture += (np.array(ink, np.float32) - picture) * cover * opacity
    small = np.asarray(cv2.resize(picture, (w, h), interpolation=cv2.INTER_AREA), np.float32)
    if rng.random() < 0.4:
        share = float(rng.uniform(0.35, 1))
        small = np.asarray(cv2.resize(coarse(small, (share, share)), (w, h)), np.float32)
    if rng.random() < 0.1:
        small = repeated_edge(small, rng)
    return camera(small, rng, float(rng.choice([0.3, 0.6, 1.0]))), kind
