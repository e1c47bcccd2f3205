"""What the recognising network can say, and how its inputs are cut. Shared by the reader and its training."""

import numpy as np
from numpy.typing import NDArray

# Class 0 is CTC's blank; ``?`` stands for every letter that is not part of an overload mark.
CHARACTERS = "0123456789.-:LEr?"

# The strip the digits are read from: height and greatest width in pixels, and the height of a digit in it.
STRIP_HEIGHT = 48
STRIP_WIDTH = 384
STRIP_DIGIT = 30.0

# The sheet round the digits in which the unit is looked for.
SHEET_SIZE = (208, 512)
SHEET_DIGIT = 48.0
SHEET_LEFT = 96.0
SHEET_TEXT = 240.0

# UCUM codes in the order of the unit network's classes, from class 2 on; class 0 is nothing, class 1 is a
# word that reads like a unit but is none that records use.
UNIT_CODES = (
    "mm",
    "cm",
    "[in_i]",
    "[psi]",
    "kPa",
    "bar",
    "Cel",
    "[degF]",
    "V",
    "mV",
    "A",
    "mA",
    "Ohm",
    "kOhm",
    "%",
    "N.m",
    "[ft_i].[lbf_av]",
    "deg",
)


def strip_mapping(quad: NDArray[np.float64], scale: tuple[float, float]) -> tuple[float, float]:
    """Width and height of a quadrilateral's text in strip pixels.

    Args:
        quad: corners of the digits: top left, top right, bottom right, bottom left.
        scale: further stretch of width and height.
    """
    across = (np.linalg.norm(quad[1] - quad[0]) + np.linalg.norm(quad[2] - quad[3])) / 2
    down = (np.linalg.norm(quad[3] - quad[0]) + np.linalg.norm(quad[2] - quad[1])) / 2
    height = STRIP_DIGIT * scale[1]
    return float(across / max(down, 1.0) * height * scale[0]), height
