"""Reading a straightened group of digits with the recogniser, in several slightly different cuts."""

import numpy as np
from numpy.typing import NDArray

from pipelines.displays import models_onnx
from pipelines.displays.alphabet import STRIP_DIGIT, STRIP_HEIGHT, STRIP_WIDTH
from pipelines.displays.decoding import Floats, Heard, hear
from pipelines.displays.straighten import Image, Quad, cut, rectangle, sides

# Each look: height of a digit, free space left and right (in digit heights), shift down, stretch of width.
_LOOKS = (
    (STRIP_DIGIT, 0.6, 0.6, 0.0, 1.0),
    (STRIP_DIGIT * 0.86, 1.0, 1.2, 1.0, 1.08),
    (STRIP_DIGIT * 1.1, 0.4, 0.4, -1.0, 0.94),
    # A minus sign may stand far off at the left edge of the window.
    (STRIP_DIGIT * 0.93, 2.4, 0.5, 0.0, 1.0),
)
_FAR_LOOKS = (
    (STRIP_DIGIT * 0.93, 3.6, 0.4, 0.0, 1.0),
    (STRIP_DIGIT * 0.85, 5.2, 0.4, 0.0, 0.95),
)
# Seen from the side, or stretched by whoever cut the picture, digits are too narrow or too wide.
_STRETCHES = (0.72, 0.5, 1.4)
_CLEAR = 0.9


def _strip(image: Image, quad: Quad, look: tuple[float, float, float, float, float]) -> Image:
    height, left, right, down, stretch = look
    across, tall = sides(quad)
    width = across / tall * height * stretch
    width = min(width, STRIP_WIDTH - (left + right) * height)
    whole = int(np.ceil(width + (left + right) * height))
    target = rectangle(left * height, (STRIP_HEIGHT - height) / 2 + down, width, height)
    return cut(image, quad, target, (STRIP_HEIGHT, whole))


def standard(strip: Image) -> Floats:
    """Mean 0, deviation about 1: contrast and brightness of the photo no longer matter."""
    x = strip.transpose(2, 0, 1).astype(np.float32)
    return np.asarray((x - x.mean()) / (x.std() + 4), np.float32)


def trials(image: Image, quad: Quad) -> tuple[list[Heard], Image]:
    """What the recogniser says of a group of digits, and the plainest cut of it.

    One answer when it is clear at once, else one for each of several stretches.

    Args:
        image: RGB photo.
        quad: corners of the digits in the photo.
    """
    first, strip = _look(image, quad, 1.0)
    if first.shares[0][1] >= _CLEAR and first.shares[0][0]:
        return [first], strip
    return [first, *(_look(image, quad, stretch)[0] for stretch in _STRETCHES)], strip


def far_looks(image: Image, quad: Quad) -> tuple[str, ...]:
    """The text in cuts that reach far to the left, where a minus sign may stand alone."""
    return _heard([_strip(image, quad, look) for look in _FAR_LOOKS]).best


def _look(image: Image, quad: Quad, stretch: float) -> tuple[Heard, Image]:
    strips = [_strip(image, quad, (*look[:4], look[4] * stretch)) for look in _LOOKS]
    return _heard(strips), strips[0]


def _heard(strips: list[Image]) -> Heard:
    width = -(-max(s.shape[1] for s in strips) // 32) * 32
    batch: NDArray[np.float32] = np.zeros((len(strips), 3, STRIP_HEIGHT, width), np.float32)
    for row, strip in zip(batch, strips, strict=True):
        row[:, :, : strip.shape[1]] = standard(strip)
    out = models_onnx.run("read", batch)
    looks = [steps[: -(-strip.shape[1] // 4)] for steps, strip in zip(out, strips, strict=True)]
    return hear(looks)
