"""Reading a straightened group of digits with the recogniser, in several slightly different cuts."""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays import models_onnx
from pipelines.displays.alphabet import STRIP_DIGIT, STRIP_HEIGHT, STRIP_WIDTH
from pipelines.displays.decoding import READERS, Floats, Heard, Reader, hear, most_agreed, places
from pipelines.displays.straighten import Image, Photo, Quad, cut, rectangle, sides

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
# The cut in which digits are looked for that the locator missed; how far the middle of a digit lies from its
# edge and from the next, and how much farther out it must reach, in digit heights.
_WIDE = (STRIP_DIGIT * 0.9, 2.2, 2.2, 0.0, 1.0)
_HALF_DIGIT = 0.3
_NEXT_DIGIT = 1.3
_MISSED = 0.25
_CLEAR = 0.9
_LIKELY = 0.6
# How far (in pixels of the strip) light may change, and the contrast beyond which no more counts.
REACH = STRIP_DIGIT * 0.8
MOST = 2.5
# The share of the way from ground to ink up to which everything is taken for ground.
_NEARER = 0.5


def _strip(photo: Photo, quad: Quad, look: tuple[float, float, float, float, float]) -> Image:
    height, left, right, down, stretch = look
    across, tall = sides(quad)
    width = across / tall * height * stretch
    width = min(width, STRIP_WIDTH - (left + right) * height)
    whole = int(np.ceil(width + (left + right) * height))
    target = rectangle(left * height, (STRIP_HEIGHT - height) / 2 + down, width, height)
    return cut(photo, quad, target, (STRIP_HEIGHT, whole))


def standard(strip: Image) -> Floats:
    """Mean 0, deviation about 1: contrast and brightness of the photo no longer matter."""
    x = strip.transpose(2, 0, 1).astype(np.float32)
    return np.asarray((x - x.mean()) / (x.std() + 4), np.float32)


def levelled(strip: Image) -> Floats:
    """The strip with slow changes of light taken out and the same contrast everywhere."""
    x = strip.astype(np.float32)
    detail = x - cv2.GaussianBlur(x, (0, 0), REACH)
    return _even(detail, np.sqrt(cv2.GaussianBlur((detail**2).mean(axis=2), (0, 0), REACH)))


def inked(strip: Image) -> Floats:
    """The strip levelled, in the one mixture of its colours in which it differs most.

    On a ground of one strong colour the ink may change a single channel, and a little.
    """
    x = strip.astype(np.float32)
    detail = x - cv2.GaussianBlur(x, (0, 0), REACH)
    plane = detail @ _mixture(detail)
    even = _even(plane[..., None], np.sqrt(cv2.GaussianBlur(plane**2, (0, 0), REACH)))
    return np.repeat(even, 3, axis=0)


def stark(strip: Image) -> Floats:
    """The strip with what lies nearer to its ground than to its ink taken for ground.

    Segments that are not lit, but to be seen, go; so do faint digits, so it is but one of several ways.
    """
    x = strip.astype(np.float32)
    plane = x @ _mixture(x - x.mean(axis=(0, 1)))
    ground, low, high = np.percentile(plane, (50, 1, 99))
    ink = high if high - ground > ground - low else low
    share = (plane - ground) / (ink - ground + np.copysign(4, ink - ground))
    cut = np.clip(share - _NEARER, 0, 1 - _NEARER) * np.sign(ink - ground)
    return np.repeat(((cut - cut.mean()) / (cut.std() + 0.005)).astype(np.float32)[None], 3, axis=0)


def _mixture(detail: Floats) -> Floats:
    """The mixture of three colours in which a strip (height x width x 3, mean 0) differs most."""
    flat = detail.reshape(-1, 3)
    mixture = np.linalg.eigh(flat.T @ flat)[1][:, -1]
    return np.asarray(mixture if mixture.sum() >= 0 else -mixture, np.float32)


def _even(detail: Floats, depth: Floats) -> Floats:
    """Detail (height x width x planes) over its depth nearby, as planes x height x width of deviation 1."""
    even = np.clip(detail / (depth[..., None] + 2), -MOST, MOST).transpose(2, 0, 1)
    return np.asarray(even / (even.std() + 0.05), np.float32)


# Further looks at what is not clear, each a stretch and a way: seen from the side, or stretched by whoever
# cut the picture, digits are too narrow or too wide.
_FURTHER = ((0.72, inked), (0.5, standard), (1.4, inked))


# With more trials than these, the digits were not clear.
MANY = 6


def trials(photo: Photo, quad: Quad) -> tuple[list[Heard], Image]:
    """What the recognisers say of a group of digits, and the plainest cut of it.

    One answer when it is clear at once; else a second recogniser answers too, and when it does not clear it
    up, both for each way to even out light and colour; when these do not agree, for several stretches as
    well; and when even then nothing is likely, without faint segments if that is clear to one of them.

    Args:
        photo: the photo.
        quad: corners of the digits in the photo.
    """
    strips = _cuts(photo, quad, 1.0)
    plain = _seen(strips, standard)
    heard = [_heard(plain)]
    if _clear(heard[0]):
        return heard, strips[0]
    heard.append(_heard(plain, "again"))
    if _clear(most_agreed(heard)):
        return heard, strips[0]
    heard += [h for way in (levelled, inked) for h in _by_both(_seen(strips, way))]
    if not _clear(most_agreed(heard)):
        for stretch, way in _FURTHER:
            heard += _by_both(_seen(_cuts(photo, quad, stretch), way))
        if most_agreed(heard).digits < _LIKELY:
            last = _by_both(_seen(strips, stark))
            heard += last if any(_clear(one) for one in last) else []
    return heard, strips[0]


def first_look(photo: Photo, quad: Quad) -> Heard:
    """What the recogniser says of a group of digits at once."""
    return _heard(_seen(_cuts(photo, quad, 1.0), standard))


def _clear(heard: Heard) -> bool:
    text, share = heard.shares[0]
    return bool(text) and share >= _CLEAR


def far_looks(photo: Photo, quad: Quad) -> tuple[str, ...]:
    """The text in cuts that reach far to the left, where a minus sign may stand alone."""
    return _heard(_seen([_strip(photo, quad, look) for look in _FAR_LOOKS], standard)).best


def with_missed_ends(photo: Photo, quad: Quad) -> Quad | None:
    """The corners of the digits, farther out where readers see more of them; None where they see no more.

    The locator looks at a whole photo, and what pales at one end of the digits is lost to it first. Readers
    see it once the light is evened out.

    Args:
        photo: the photo.
        quad: corners of the digits in the photo.
    """
    strip = _strip(photo, quad, _WIDE)
    height, left, right = _WIDE[:3]
    width = max(strip.shape[1] - (left + right) * height, 1.0)
    seen = _seen([strip], levelled)
    heard = [places(_steps(seen, reader)[0]) for reader in READERS]
    spots = [(np.array(found) * strip.shape[1] - left * height) / height for found in heard if found]
    reach = [_neighbours(spot, width / height) for spot in spots]
    start = min((low for low, _ in reach), default=0.0) - _HALF_DIGIT
    end = max((high for _, high in reach), default=0.0) + _HALF_DIGIT
    start, end = min(start, 0.0), max(end, width / height)
    if start > -_MISSED and end < width / height + _MISSED:
        return None
    return _along(quad, start * height / width, end * height / width)


def drawn_in(photo: Photo, quad: Quad) -> Quad:
    """The corners of what the recogniser sees, where those of the locator reach farther out.

    Args:
        photo: the photo.
        quad: corners of the digits in it.
    """
    look = _LOOKS[1]
    strip, (height, left, right) = _strip(photo, quad, look), look[:3]
    spots = [
        at * strip.shape[1] / height - left for at in places(_steps(_seen([strip], standard), "read")[0], "?")
    ]
    width = max(strip.shape[1] / height - left - right, 1 / height)
    if not spots:
        return quad
    return _along(quad, max(spots[0] - _HALF_DIGIT, 0.0) / width, min(spots[-1] + _HALF_DIGIT, width) / width)


def _along(quad: Quad, start: float, end: float) -> Quad:
    """Corners on the same lines, from one share of the width to another."""
    shares = np.array([start, end])
    tl, tr, br, bl = quad
    top, bottom = (np.outer(1 - shares, a) + np.outer(shares, b) for a, b in ((tl, tr), (bl, br)))
    return np.array([top[0], top[1], bottom[1], bottom[0]])


def _neighbours(spots: Floats, width: float) -> tuple[float, float]:
    """The first and last digit of the row that goes through the corners, in digit heights."""
    inside = [i for i, spot in enumerate(spots) if 0 <= spot <= width]
    if not inside:
        return width / 2, width / 2
    first, last = inside[0], inside[-1]
    while first > 0 and spots[first] - spots[first - 1] < _NEXT_DIGIT:
        first -= 1
    while last < len(spots) - 1 and spots[last + 1] - spots[last] < _NEXT_DIGIT:
        last += 1
    return float(spots[first]), float(spots[last])


def _cuts(photo: Photo, quad: Quad, stretch: float) -> list[Image]:
    return [_strip(photo, quad, (*look[:4], look[4] * stretch)) for look in _LOOKS]


@dataclass(frozen=True)
class _Seen:
    """Strips as a reader is given them.

    Attributes:
        pixels: strips x 3 x height x width, empty to the right of each strip's end.
        widths: of each strip.
    """

    pixels: Floats
    widths: tuple[int, ...]


def _seen(strips: list[Image], way: Callable[[Image], Floats]) -> _Seen:
    width = -(-max(s.shape[1] for s in strips) // 32) * 32
    batch: NDArray[np.float32] = np.zeros((len(strips), 3, STRIP_HEIGHT, width), np.float32)
    for row, strip in zip(batch, strips, strict=True):
        row[:, :, : strip.shape[1]] = way(strip)
    return _Seen(batch, tuple(strip.shape[1] for strip in strips))


def _heard(seen: _Seen, reader: Reader = "read") -> Heard:
    return hear(_steps(seen, reader), reader)


def _by_both(seen: _Seen) -> list[Heard]:
    return [_heard(seen, reader) for reader in READERS]


def _steps(seen: _Seen, reader: Reader) -> list[Floats]:
    """What one reader says of each strip: log probabilities, time x classes."""
    out = models_onnx.run(reader, seen.pixels)
    return [steps[: -(-width // 4)] for steps, width in zip(out, seen.widths, strict=True)]
