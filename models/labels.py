"""Text that a photo shows beside gauges: printed lines and bar codes."""

from typing import Literal

from models.display import Box
from models.frozen import Frozen

TextSource = Literal["print", "Code 39", "Code 128", "Data Matrix", "QR code"]


class SeenText(Frozen):
    """One line of print, or the content of one bar code.

    Attributes:
        text: as read; never altered.
        source: print, or the kind of bar code.
        confidence: 0 to 1.
        box: x, y, width, height in pixels of the upright photo, where known.
    """

    text: str
    source: TextSource
    confidence: float
    box: Box | None = None
