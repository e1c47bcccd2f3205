"""Bar codes: labels with a vehicle's identification number, tags of work orders."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from models.labels import SeenText, TextSource

_LONGEST = 2600
# Longer than anything a shop's label holds; what is longer is cut in the notice anyway.
_MOST_CHARACTERS = 400
_UNCHECKED = 0.95
_SOURCES: dict[str, TextSource] = {
    "Code39": "Code 39",
    "Code128": "Code 128",
    "DataMatrix": "Data Matrix",
    "QRCode": "QR code",
}
_BARS = ("Code39", "Code128")
_TURNS = (-15.0, 15.0, -30.0, 30.0, 45.0)


def _printable(text: str) -> str:
    """The text on one line, without characters that cannot be shown."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:_MOST_CHARACTERS]


def _source(format_name: str) -> TextSource | None:
    return next((source for name, source in _SOURCES.items() if format_name.startswith(name)), None)


def _seen(code: Any, back: NDArray[np.float64]) -> SeenText | None:
    """What a code says; ``back`` carries its corners into the photo (2 x 3)."""
    source, text = _source(code.format.name), _printable(code.text)
    if source is None or not text:
        return None
    place = code.position
    points = [place.top_left, place.top_right, place.bottom_right, place.bottom_left]
    corners = np.array([(p.x, p.y, 1) for p in points]) @ back.T
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    box = (max(0, int(x0)), max(0, int(y0)), int(x1 - x0) + 1, int(y1 - y0) + 1)
    # A Code 39 symbol checks nothing but its single characters; the others check the whole.
    confidence = _UNCHECKED if source == "Code 39" else 1.0
    return SeenText(text=text, source=source, confidence=confidence, box=box)


def _found(grey: NDArray[np.uint8], names: tuple[str, ...], back: NDArray[np.float64]) -> list[SeenText]:
    import zxingcpp

    formats = [getattr(zxingcpp.BarcodeFormat, name) for name in names]
    codes = zxingcpp.read_barcodes(grey, formats=formats, text_mode=zxingcpp.TextMode.Plain)
    return [seen for code in codes if code.valid and (seen := _seen(code, back)) is not None]


def _turned(grey: NDArray[np.uint8], degrees: float) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """The whole picture turned, and the way back of its points (2 x 3)."""
    h, w = grey.shape
    way = cv2.getRotationMatrix2D((w / 2, h / 2), degrees, 1.0)
    reach = np.abs(way[:, :2]) @ (w, h)
    way[:, 2] += (reach - (w, h)) / 2
    size = (int(np.ceil(reach[0])), int(np.ceil(reach[1])))
    turned = cv2.warpAffine(grey, way, size, flags=cv2.INTER_LINEAR, borderValue=(127,))
    return np.asarray(turned, np.uint8), np.asarray(cv2.invertAffineTransform(way), np.float64)


def read_codes(image: NDArray[np.uint8]) -> list[SeenText]:
    """Read Code 39, Code 128, Data Matrix and QR codes.

    Args:
        image: RGB, upright, height x width x 3.

    Returns:
        Each code once, from top to bottom; empty when there is none.
    """
    grey = np.asarray(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY), np.uint8)
    scale = max(1.0, max(grey.shape) / _LONGEST)
    if scale > 1:
        small = cv2.resize(grey, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_AREA)
        grey = np.asarray(small, np.uint8)
    seen = _found(grey, tuple(_SOURCES), np.array([[scale, 0, 0], [0, scale, 0]], np.float64))
    for degrees in _TURNS:
        if seen:
            break
        # Bars are scanned along level and upright lines only, which a long code that lies askew leaves.
        turned, back = _turned(grey, degrees)
        seen = _found(turned, _BARS, back * scale)
    unique = {(s.source, s.text): s for s in reversed(seen)}
    return sorted(unique.values(), key=lambda s: s.box[1] if s.box else 0)
