"""Small signs that stand beside the digits of a display: rings, arrows, batteries, bar graphs."""

import cv2
import numpy as np

from pipelines.displays.training.face import Icon
from pipelines.displays.training.lettering import Mask

_Rect = tuple[float, float, float, float]
_WIDE = {"ring": 1.0, "disc": 1.0, "arrow": 1.3, "battery": 1.7, "ticks": 12.0}


def _apart(a: _Rect, b: _Rect, gap: float) -> bool:
    return a[2] + gap < b[0] or b[2] + gap < a[0] or a[3] + gap < b[1] or b[3] + gap < a[1]


def _paint(mask: Mask, icon: Icon, rect: _Rect) -> None:
    x0, y0, x1, y1 = (round(v) for v in rect)
    middle, half = ((x0 + x1) // 2, (y0 + y1) // 2), max(1, (y1 - y0) // 2)
    pen = max(1, half // 4)
    if icon.kind in ("ring", "disc"):
        cv2.circle(mask, middle, half, (255,), pen if icon.kind == "ring" else -1, cv2.LINE_AA)
    elif icon.kind == "arrow":
        head = np.array([(x0, middle[1]), (middle[0], y0), (middle[0], y1)], np.int32)
        if icon.x > 0.5:
            head[:, 0] = x0 + x1 - head[:, 0]
        cv2.fillPoly(mask, [head], (255,), cv2.LINE_AA)
        cv2.line(mask, (x0, middle[1]), (x1, middle[1]), (255,), pen)
    elif icon.kind == "battery":
        cv2.rectangle(mask, (x0, y0), (x1 - pen, y1), (255,), pen)
        cv2.rectangle(mask, (x0, y0), (x0 + (x1 - x0) // 3, y1), (255,), -1)
    else:
        step = max(2.0, (x1 - x0) / 24)
        for i, x in enumerate(np.arange(x0, x1, step)):
            top = y0 if i % 5 == 0 else middle[1]
            cv2.line(mask, (int(x), top), (int(x), y1), (255,), max(1, round(step / 3)))


def draw_icons(
    icons: tuple[Icon, ...], mask: Mask, window: _Rect, height: float, taken: tuple[_Rect, ...]
) -> None:
    """Draw signs where they touch nothing.

    Args:
        icons: what to draw.
        mask: lit ink; drawn into.
        window: left, top, right, bottom of the window in pixels.
        height: height of a digit in pixels.
        taken: rectangles of what stands there already.
    """
    x0, y0, x1, y1 = window
    for icon in icons:
        size = icon.size * height
        wide = _WIDE[icon.kind] * size / 2
        x, y = x0 + icon.x * (x1 - x0), y0 + icon.y * (y1 - y0)
        rect = (x - wide, y - size / 2, x + wide, y + size / 2)
        inside = rect[0] > x0 and rect[1] > y0 and rect[2] < x1 and rect[3] < y1
        if inside and all(_apart(rect, other, 0.1 * height) for other in taken):
            _paint(mask, icon, rect)
