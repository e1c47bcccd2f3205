"""Printed words as masks, from the fonts that come inside pip packages."""

import importlib.util
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Mask = NDArray[np.uint8]

_DRAWN_PX = 64
# Strokes that OpenCV draws itself; always there, but without the signs for ohm and degree.
_STROKES = (
    cv2.FONT_HERSHEY_SIMPLEX,
    cv2.FONT_HERSHEY_DUPLEX,
    cv2.FONT_HERSHEY_TRIPLEX,
    cv2.FONT_HERSHEY_COMPLEX,
)


@lru_cache(maxsize=1)
def fonts() -> tuple[str, ...]:
    """Names of the fonts at hand.

    Always ``strokes:N`` and ``pillow``, ``opencv:*`` from OpenCV 5 on, and the files of matplotlib when it is
    installed (it is wherever networks are trained, and no dependency of the project).
    """
    names = [f"strokes:{i}" for i in range(len(_STROKES))] + ["pillow"]
    if hasattr(cv2, "FontFace"):
        names += [
            f"opencv:{face}:{weight}" for face in ("sans", "italic", "uni") for weight in (300, 400, 600, 800)
        ]
    spec = importlib.util.find_spec("matplotlib")
    if spec is not None and spec.origin is not None:
        folder = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
        names += [str(path) for path in sorted(folder.glob("DejaVu*.ttf")) if "Display" not in path.name]
        names += [str(path) for path in sorted(folder.glob("STIXGeneral*.ttf"))]
    return tuple(names)


def _trim(mask: Mask) -> Mask:
    rows, columns = np.flatnonzero(mask.max(axis=1)), np.flatnonzero(mask.max(axis=0))
    if not len(rows):
        return np.zeros((4, 4), np.uint8)
    return mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def _draw(word: str, font: str) -> Mask:
    canvas = np.zeros((_DRAWN_PX * 3, _DRAWN_PX * (len(word) + 3)), np.uint8)
    foot = (_DRAWN_PX // 2, _DRAWN_PX * 2)
    if font.startswith("strokes:"):
        stroke = _STROKES[int(font.split(":")[1])]
        cv2.putText(canvas, word, foot, stroke, 2.2, 255, 6, cv2.LINE_AA)
        return canvas
    if font.startswith("opencv:"):
        _, name, weight = font.split(":")
        cv2.putText(canvas, word, foot, (255,), cv2.FontFace(name), _DRAWN_PX, int(weight))
        return canvas
    picture = Image.fromarray(canvas)
    face = ImageFont.load_default(_DRAWN_PX) if font == "pillow" else ImageFont.truetype(font, _DRAWN_PX)
    ImageDraw.Draw(picture).text((_DRAWN_PX // 2, _DRAWN_PX // 2), word, fill=255, font=face)
    return np.asarray(picture)


@lru_cache(maxsize=4096)
def _word(word: str, font: str) -> Mask:
    # Signs that a font lacks come out as empty boxes, so such words change over to one that has them.
    plain = all(ord(c) < 127 for c in word)
    if not plain and not font.startswith(("opencv:", "/")):
        font = next((name for name in fonts() if name.startswith(("opencv:", "/"))), font)
    return _trim(_draw(word, font))


def word_mask(word: str, font: str, height: float) -> Mask:
    """A word as a mask, 0 to 255, cut to its ink.

    Args:
        word: what to write.
        font: one of ``fonts()``.
        height: height of a capital letter in pixels; small and hanging letters keep their proportion.
    """
    mask = _word(word, font)
    scale = height / (_DRAWN_PX * 0.72)
    size = (max(2, round(mask.shape[1] * scale)), max(2, round(mask.shape[0] * scale)))
    return np.asarray(cv2.resize(mask, size, interpolation=cv2.INTER_AREA), np.uint8)
