"""The unit that is lit or printed beside the digits.

One network finds words that may be units on a sheet round the straightened digits; another names each word
from a closer cut of the photo.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays import models_onnx
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
from pipelines.displays.strips import standard

_STRIDE = 4
_SURE = 0.8
_RIVAL = 0.8
_MOST = 5
_Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class SeenUnit:
    """A word beside the digits.

    Attributes:
        code: UCUM code, or None for a word that is no unit of the records.
        sure: 0 to 1, how sure the name is.
        found: 0 to 1, how sure it is that a unit stands there at all.
    """

    code: str | None
    sure: float
    found: float


def _boxes(share: NDArray[np.float32]) -> list[tuple[_Box, float]]:
    """Left, top, width and height of each word on the sheet, with how surely it is one; surest first."""
    word = 1 - share[0]
    count, labels = cv2.connectedComponents((word > 0.35).astype(np.uint8))
    found = []
    for index in range(1, count):
        rows, columns = np.nonzero(labels == index)
        if len(rows) < 2:
            continue
        left, top = columns.min() * _STRIDE, rows.min() * _STRIDE
        width, height = (np.ptp(columns) + 1) * _STRIDE, (np.ptp(rows) + 1) * _STRIDE
        box = (float(left), float(top), float(width), float(height))
        found.append((box, float(word[rows, columns].max())))
    return sorted(found, key=lambda item: -item[1])[:_MOST]


def _inked(sheet: Image, box: _Box) -> _Box:
    """The box drawn tight round the ink that touches its middle."""
    left, top, width, height = box
    reach = 0.35 * height
    x0, y0 = max(0, round(left - reach)), max(0, round(top - reach))
    x1, y1 = (
        min(sheet.shape[1], round(left + width + reach)),
        min(sheet.shape[0], round(top + height + reach)),
    )
    piece = sheet[y0:y1, x0:x1].astype(np.float32)
    if piece.shape[0] < 6 or piece.shape[1] < 6:
        return box
    ground = np.median(piece.reshape(-1, 3), axis=0)
    apart = np.abs(piece - ground).max(axis=2)
    inner = apart[piece.shape[0] // 4 : -(piece.shape[0] // 4), piece.shape[1] // 5 : -(piece.shape[1] // 5)]
    if not inner.size or np.percentile(inner, 95) < 14:
        return box
    ink = (apart > 0.45 * np.percentile(inner, 95)).astype(np.uint8)
    joined = cv2.dilate(ink, np.ones((1, max(3, round(height * 0.35))), np.uint8))
    _, labels = cv2.connectedComponents(joined)
    rows, columns = piece.shape[0], piece.shape[1]
    core = labels[rows // 3 : -(rows // 3), columns // 4 : -(columns // 4)]
    kept = np.isin(labels, np.unique(core[core > 0])) & (ink > 0)
    ys, xs = np.nonzero(kept)
    if len(ys) < 6 or np.ptp(ys) < 0.4 * height or np.ptp(ys) > 0.95 * rows:
        return box
    return (x0 + float(xs.min()), y0 + float(ys.min()), float(np.ptp(xs) + 1), float(np.ptp(ys) + 1))


def _scaled(box: _Box, wide: float, high: float) -> _Box:
    left, top, width, height = box
    return (left + width * (1 - wide) / 2, top + height * (1 - high) / 2, width * wide, height * high)


def _cuts(sheet: Image, box: _Box) -> list[_Box]:
    """Several guesses at the exact place of a word: the area found, smaller ones, and tight round the ink."""
    inner = _scaled(box, 0.9, 0.75)
    return [
        inner,
        _scaled(box, 0.75, 0.55),
        _scaled(box, 1.05, 0.95),
        _inked(sheet, inner),
        _inked(sheet, box),
    ]


def _target(width: float, height: float) -> Quad:
    """Where a word of that size comes to lie in the piece that is named."""
    h, w = WORD_SIZE
    scale = min(WORD_INK / height, WORD_WIDEST / width)
    return rectangle((w - width * scale) / 2, (h - height * scale) / 2, width * scale, height * scale)


def candidates(photo: Photo, quad: Quad) -> list[SeenUnit]:
    """Every word round the digits that may be a unit, surest first.

    Args:
        photo: the photo.
        quad: corners of the digits in the photo.
    """
    across, down = sides(quad)
    scale = min(SHEET_DIGIT / down, SHEET_TEXT / across)
    target = rectangle(SHEET_LEFT, (SHEET_SIZE[0] - down * scale) / 2, across * scale, down * scale)
    sheet = cut(photo, quad, target, SHEET_SIZE)
    found = _boxes(_softmax(models_onnx.run("unit", standard(sheet)[None])[0]))
    if not found:
        return []
    back = homography_between(target, quad)
    looks, owner = [], []
    for index, (box, _) in enumerate(found):
        for left, top, width, height in _cuts(sheet, box):
            corners = map_points(rectangle(left, top, width, height), back)
            looks.append(standard(cut(photo, corners, _target(width, height), WORD_SIZE)))
            owner.append(index)
    named = _softmax(models_onnx.run("word", np.stack(looks)).T)
    seen = []
    for index, (_, surely) in enumerate(found):
        votes = named[:, np.array(owner) == index]
        # A cut that shows no word at all was only badly placed; the others decide, two of them together.
        best_two = np.sort(votes[1:], axis=1)[:, -2:].mean(axis=1)
        kind = int(best_two.argmax()) + 1
        sure = float(best_two[kind - 1])
        seen.append(SeenUnit(UNIT_CODES[kind - 2] if kind > 1 else None, sure, surely))
    return sorted(seen, key=lambda unit: -unit.sure * unit.found)


def _softmax(scores: NDArray[np.float32]) -> NDArray[np.float32]:
    """Shares along the first axis."""
    share = np.exp(scores - scores.max(axis=0))
    return np.asarray(share / share.sum(axis=0), np.float32)


def read_unit(photo: Photo, quad: Quad) -> str | None:
    """The UCUM code of the unit, or None when none was seen surely or two could be meant."""
    sure = [unit for unit in candidates(photo, quad) if unit.code is not None and unit.sure >= _SURE]
    rivals = {unit.code for unit in sure if unit.sure * unit.found > _RIVAL * sure[0].sure * sure[0].found}
    return sure[0].code if len(rivals) == 1 else None
