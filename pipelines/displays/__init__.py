"""Gauge displays in photos, and printed plates.

Importing this is cheap: pictures libraries and networks load with the first photo.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from models.display import DisplayReading
    from models.labels import SeenText

VERSION = "5"
"""Changes whenever the same photo may be read otherwise."""


def read_display(image: "NDArray[np.uint8]", capture: str) -> "DisplayReading":
    """Read the gauge display of a photo.

    Args:
        image: RGB, upright, height x width x 3.
        capture: sha256 of the photo.

    Returns:
        The reading, or one without text whose ``reason`` says what to do.

    Raises:
        ValueError: the array is not an RGB picture of 8 bits.
    """
    from pipelines.displays.reader import read_display as read

    return read(image, capture)


def read_print(image: "NDArray[np.uint8]") -> list[tuple[str, float]]:
    """Read printed text, such as a data plate.

    Args:
        image: RGB, upright, height x width x 3.

    Returns:
        Lines of text from top to bottom, each with a confidence of 0 to 1; empty when there are none.

    Raises:
        pipelines.displays.printed.PrintReaderError: the text recogniser is missing or failed.
    """
    from pipelines.displays.printed import read_print as read

    return read(image)


def read_codes(image: "NDArray[np.uint8]") -> "list[SeenText]":
    """Read bar codes: Code 39, Code 128, Data Matrix and QR codes.

    Args:
        image: RGB, upright, height x width x 3.

    Returns:
        Each code once, from top to bottom; empty when there is none.
    """
    from pipelines.displays.codes import read_codes as read

    return read(image)


def tesseract_version() -> str:
    """The version of the recogniser for printed text.

    Raises:
        pipelines.displays.printed.PrintReaderError: it is missing or does not run.
    """
    from pipelines.displays.printed import tesseract_version as version

    return version()
