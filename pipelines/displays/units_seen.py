"""The unit that is lit or printed beside the digits."""

from dataclasses import dataclass

import cv2
import numpy as np

from pipelines.displays import models_onnx
from pipelines.displays.alphabet import SHEET_DIGIT, SHEET_LEFT, SHEET_SIZE, SHEET_TEXT, UNIT_CODES
from pipelines.displays.straighten import Image, Quad, cut, rectangle, sides
from pipelines.displays.strips import standard

_SURE = 0.7


@dataclass(frozen=True)
class SeenUnit:
    """A unit on the sheet: UCUM code (None for a word that is no unit of the records) and 0 to 1 how sure."""

    code: str | None
    sure: float


def candidates(image: Image, quad: Quad) -> list[SeenUnit]:
    """Every unit round the digits, surest first."""
    across, down = sides(quad)
    scale = min(SHEET_DIGIT / down, SHEET_TEXT / across)
    h, w = SHEET_SIZE
    target = rectangle(SHEET_LEFT, (h - down * scale) / 2, across * scale, down * scale)
    sheet = cut(image, quad, target, SHEET_SIZE)
    out = models_onnx.run("unit", standard(sheet)[None])[0]
    share = np.exp(out - out.max(axis=0))
    share /= share.sum(axis=0)
    best = share.argmax(axis=0)
    count, labels = cv2.connectedComponents((best > 0).astype(np.uint8))
    seen = []
    for index in range(1, count):
        here = labels == index
        if here.sum() < 2:
            continue
        votes = share[:, here].sum(axis=1)
        kind = int(votes[1:].argmax()) + 1
        inside = share[kind, here]
        sure = float(np.sort(inside)[len(inside) // 2 :].mean() * votes[kind] / votes[1:].sum())
        seen.append(SeenUnit(UNIT_CODES[kind - 2] if kind > 1 else None, sure))
    return sorted(seen, key=lambda unit: -unit.sure)


def read_unit(image: Image, quad: Quad) -> str | None:
    """The UCUM code of the unit, or None when none was seen or two could be meant."""
    sure = [unit for unit in candidates(image, quad) if unit.sure >= _SURE]
    codes = {unit.code for unit in sure}
    return sure[0].code if len(codes) == 1 else None
