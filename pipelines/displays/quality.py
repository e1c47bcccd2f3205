"""What is wrong with a photo, in words the technician can act on."""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays.straighten import Image, Quad, sides

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
_LEAST_HEIGHT = 12.0
# The space between two digits is hardly wider than this, in heights of a digit.
_BETWEEN_DIGITS = 0.3

NOTHING_CLEAR = (
    "No digits could be made out: check that the display is on, go close, hold the camera straight at it, "
    "and take the photo again."
)
NO_DISPLAY = (
    "No lit display was found in this photo: go close, hold the camera straight at the display, "
    "and take the photo again."
)
BLANK = (
    "A display is in this photo but no digits are lit on it: switch the gauge on or wake it, "
    "and take the photo again."
)

FIRST_ONE = (
    "The first digit may be a 1 or a piece of another: compare with the gauge, or take the photo again with "
    "nothing over the display."
)


def blurred(strip: Image) -> bool:
    """Whether edges in a straightened strip are so soft that segments run into each other."""
    grey = strip.mean(axis=2).astype(np.float32)
    spread = float(np.percentile(grey, 95) - np.percentile(grey, 5))
    if spread < 8:
        return False
    calm = cv2.GaussianBlur(grey, (0, 0), 0.8)
    steep = np.hypot(cv2.Sobel(calm, cv2.CV_32F, 1, 0), cv2.Sobel(calm, cv2.CV_32F, 0, 1)) / 8
    return float(np.percentile(steep, 97)) / spread < 0.11


def glare(strip: Image) -> tuple[float, float] | None:
    """The stretch that a burnt-out reflection covers, as shares of the strip's width; None without one."""
    white = (strip.min(axis=2) > 248).astype(np.uint8)
    white = np.asarray(cv2.morphologyEx(white, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8)))
    columns = np.flatnonzero(white.mean(axis=0) > 0.3)
    # A display that is white all over is a bright ground, not a reflection.
    if not len(columns) or len(columns) > 0.7 * strip.shape[1]:
        return None
    return float(columns[0] / strip.shape[1]), float((columns[-1] + 1) / strip.shape[1])


def faint(strip: Image) -> bool:
    """Whether digits hardly stand out from their ground."""
    grey: NDArray[np.float32] = cv2.GaussianBlur(strip, (0, 0), 1.0).astype(np.float32)
    return float(max(np.percentile(grey, 96, axis=(0, 1)) - np.percentile(grey, 4, axis=(0, 1)))) < 22


def cut_edge(quad: Quad, size: tuple[int, int]) -> str | None:
    """The edge of the picture that cuts digits off (left, right, top, bottom); None when they are whole."""
    h, w = size
    slack = 0.12 * sides(quad)[1]
    over = {
        "left": -quad[:, 0].min(),
        "right": quad[:, 0].max() - w,
        "top": -quad[:, 1].min(),
        "bottom": quad[:, 1].max() - h,
    }
    edge = max(over, key=lambda name: over[name])
    return edge if over[edge] > slack else None


def close_edge(quad: Quad, size: tuple[int, int]) -> str | None:
    """The side on which the picture ends so close to the digits that one more may lie beyond it; else None.

    A picture cut between two digits shows nothing of the one that is lost.
    """
    room = {"left": quad[:, 0].min(), "right": size[1] - quad[:, 0].max()}
    side = min(room, key=lambda name: room[name])
    return side if room[side] < _BETWEEN_DIGITS * sides(quad)[1] else None


def close_sentence(side: str) -> str:
    """What to say when a digit more may lie beyond the picture's edge."""
    return (
        f"The digits reach the {side} edge of the photo, so one may be missing: compare with the gauge, or "
        "take it again with the whole display in it."
    )


def cut_sentence(edge: str) -> str:
    """What to say when the picture's edge cuts the digits."""
    return (
        f"The digits are cut off at the {edge} edge of the photo: take it again with the whole display in it."
    )


def hidden_sentence(end: str) -> str:
    """What to say when only a part of the first or last digit is to be seen."""
    return (
        f"Only a part of the digit at the {end} end is to be seen: take the photo again with the whole "
        "display in it and nothing over it."
    )


def cause(strip: Image, quad: Quad, which: str) -> str | None:
    """What is visibly wrong with the picture of the digits, and what to do; None when nothing is.

    Args:
        strip: the digits straightened.
        quad: their corners in the photo.
        which: words for the character that is least clear.
    """
    if glare(strip) is not None:
        return f"Glare lies over the digits ({which} is least clear): shade the display and take it again."
    if sides(quad)[1] < _LEAST_HEIGHT:
        return "The digits are too small in this photo: go closer and take it again."
    if blurred(strip):
        return f"The display is blurred ({which} is least clear): hold still and let the camera focus first."
    if faint(strip):
        return (
            f"The digits are faint ({which} is least clear): look straight at the display, with more light."
        )
    return None


def several(texts: Sequence[str]) -> str:
    """What to say when a photo shows more than one display.

    Args:
        texts: what they show, the one that was taken first.
    """
    others = " and ".join(texts[1:])
    number = "Several displays are" if len(texts) > 2 else "Two displays are"
    return (
        f"{number} in this photo, one showing {texts[0]} and {'others' if len(texts) > 2 else 'another'} "
        f"{others}: choose the one that was meant, or photograph it alone."
    )


OTHER_UNCLEAR = (
    "Larger digits, or a line above these, could not be read: compare with the gauge, or go closer and take "
    "it again."
)


def weakest(marks: Sequence[float]) -> str:
    """Words for the character with the least confidence."""
    index = int(np.argmin(marks)) if marks else len(_ORDINALS)
    return f"the {_ORDINALS[index]} character" if index < len(_ORDINALS) else "one character"


def why_unsure(marks: Sequence[float], point: bool) -> str:
    """What is doubtful about a reading of a picture with no visible fault, and what to do about it.

    Args:
        marks: confidence of each character.
        point: it is the decimal point that is in doubt.
    """
    if point:
        return "The decimal point is not clear: compare it with the gauge, or go closer and take it again."
    return f"The digits are not clear ({weakest(marks)} least): go closer, straight on, and take it again."
