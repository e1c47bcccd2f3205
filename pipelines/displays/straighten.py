"""Cutting a slanted piece out of a photo as if it had been seen straight on."""

import cv2
import numpy as np
from numpy.typing import NDArray

Image = NDArray[np.uint8]
Quad = NDArray[np.float64]


# A copy is halved while its pixels stay so many times smaller than those wanted; the rest is averaged.
_SPARE = 2.0


class Photo:
    """A photo with smaller copies of itself, each made when it is first wanted.

    One display is cut out of its photo tens of times; from twelve megapixels most of the time would go into
    averaging the same pixels again.

    Attributes:
        pixels: uint8 RGB, upright, height x width x 3.
    """

    def __init__(self, pixels: Image) -> None:
        self.pixels = pixels
        self._copies = [pixels]

    @property
    def size(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return self.pixels.shape[0], self.pixels.shape[1]

    def copy_for(self, shrink: float) -> tuple[Image, int]:
        """The copy from which a photo shrunk so many times is best made, and how often it is halved."""
        halved = 0
        while shrink >= 2 * _SPARE and min(self._copies[halved].shape[:2]) >= 64:
            shrink /= 2
            halved += 1
            if halved == len(self._copies):
                last = self._copies[-1]
                h, w = last.shape[0] // 2, last.shape[1] // 2
                half = cv2.resize(last[: 2 * h, : 2 * w], (w, h), interpolation=cv2.INTER_AREA)
                self._copies.append(np.asarray(half, np.uint8))
        return self._copies[halved], halved


def sides(quad: Quad) -> tuple[float, float]:
    """Mean width and mean height of a quadrilateral (top left, top right, bottom right, bottom left)."""
    across = float(np.linalg.norm(quad[1] - quad[0]) + np.linalg.norm(quad[2] - quad[3])) / 2
    down = float(np.linalg.norm(quad[3] - quad[0]) + np.linalg.norm(quad[2] - quad[1])) / 2
    return max(across, 1e-3), max(down, 1e-3)


def rectangle(left: float, top: float, width: float, height: float) -> Quad:
    """Corners of an upright rectangle."""
    right, bottom = left + width, top + height
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)], np.float64)


def map_points(points: Quad, homography: NDArray[np.float64]) -> Quad:
    """Points carried over by a homography."""
    carried = np.concatenate([points, np.ones((len(points), 1))], axis=1) @ homography.T
    return np.asarray(carried[:, :2] / carried[:, 2:])


def homography_between(source: Quad, target: Quad) -> NDArray[np.float64]:
    """The homography that carries four corners to four others."""
    return np.asarray(
        cv2.getPerspectiveTransform(source.astype(np.float32), target.astype(np.float32)), np.float64
    )


def cut(photo: Photo, quad: Quad, target: Quad, size: tuple[int, int]) -> Image:
    """The picture in which ``quad`` of the photo lies at ``target``.

    Args:
        photo: the photo.
        quad: four corners in it.
        target: where they come to lie, in pixels of the result.
        size: height and width of the result.

    Returns:
        RGB; beyond the photo's edge its border is repeated.
    """
    h, w = size
    image, halved = photo.copy_for(sides(quad)[1] / sides(target)[1])
    quad = quad / 2**halved
    homography = homography_between(quad, target)
    shrink = sides(quad)[1] / sides(target)[1]
    if shrink > 1.6:
        # Averaging first keeps fine segments from being lost between the samples.
        frame = map_points(rectangle(0, 0, w, h), np.asarray(np.linalg.inv(homography), np.float64))
        x0, y0 = np.maximum(np.floor(frame.min(axis=0)) - 2, 0).astype(int)
        x1, y1 = np.minimum(np.ceil(frame.max(axis=0)) + 2, (image.shape[1], image.shape[0])).astype(int)
        if x1 - x0 >= 8 and y1 - y0 >= 8:
            piece = image[y0:y1, x0:x1]
            new = (max(4, round((x1 - x0) / shrink * 1.25)), max(4, round((y1 - y0) / shrink * 1.25)))
            image = np.asarray(cv2.resize(piece, new, interpolation=cv2.INTER_AREA), np.uint8)
            factor = np.array([new[0] / (x1 - x0), new[1] / (y1 - y0)])
            homography = homography_between((quad - (x0, y0)) * factor, target)
    out = cv2.warpPerspective(
        image, homography, (w, h), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(out, np.uint8)
