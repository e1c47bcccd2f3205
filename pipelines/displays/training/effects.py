"""What a camera and a workshop do to a picture. Everything takes and gives RGB float32, 0 to 255."""

import cv2
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

Picture = NDArray[np.float32]


def _ramp(shape: tuple[int, int], rng: Generator) -> Picture:
    """A plane from -1 to 1 falling in a random direction."""
    h, w = shape
    angle = rng.uniform(0, 2 * np.pi)
    y, x = np.linspace(-1, 1, h, dtype=np.float32), np.linspace(-1, 1, w, dtype=np.float32)
    return np.asarray((x[None, :] * np.cos(angle) + y[:, None] * np.sin(angle)) / 1.42, np.float32)


def light(picture: Picture, rng: Generator, depth: float) -> Picture:
    """Uneven light: one side brighter by up to ``depth`` (share)."""
    return picture * (1 + np.float32(rng.uniform(0, depth)) * _ramp(picture.shape[:2], rng))[..., None]


def exposure(picture: Picture, gain: float, gamma: float) -> Picture:
    """Brighten or darken, then bend the tone curve."""
    return np.asarray(255 * np.power(np.clip(picture * (gain / 255), 0, 1), gamma), np.float32)


def spot(
    picture: Picture, centre: tuple[float, float], radius: tuple[float, float], strength: float
) -> Picture:
    """A soft bright reflection; ``strength`` 1 burns its middle out to white."""
    h, w = picture.shape[:2]
    x = (np.arange(w, dtype=np.float32)[None, :] - centre[0]) / max(radius[0], 1)
    y = (np.arange(h, dtype=np.float32)[:, None] - centre[1]) / max(radius[1], 1)
    veil = np.exp(-(x * x + y * y))[..., None] * np.float32(strength)
    return np.asarray(picture + (255 - picture) * np.minimum(veil, 1), np.float32)


def reflection(picture: Picture, rng: Generator, strength: float) -> Picture:
    """A bright or dark shape mirrored in the glass, with soft edges."""
    h, w = picture.shape[:2]
    small = np.zeros((max(8, h // 4), max(8, w // 4)), np.uint8)
    centre = rng.uniform(0, 1, 2) * (small.shape[1], small.shape[0])
    corners = centre + rng.normal(0, 0.35, (rng.integers(3, 7), 2)) * max(small.shape)
    cv2.fillPoly(small, [cv2.convexHull(corners.astype(np.int32))], 255)
    small = cv2.GaussianBlur(small, (0, 0), rng.uniform(0.5, 4))
    veil = cv2.resize(small, (w, h)).astype(np.float32)[..., None] * np.float32(strength / 255)
    colour = rng.uniform(0, 255) if rng.random() < 0.4 else rng.uniform(190, 255)
    return np.asarray(picture + (np.float32(colour) - picture) * veil, np.float32)


def motion(picture: Picture, length: float, angle: float) -> Picture:
    """Blur along a line of ``length`` pixels."""
    size = max(3, int(length) | 1)
    kernel = np.zeros((size, size), np.float32)
    middle = size // 2
    dx, dy = np.cos(angle) * middle, np.sin(angle) * middle
    start, end = (round(middle - dx), round(middle - dy)), (round(middle + dx), round(middle + dy))
    cv2.line(kernel, start, end, 1.0, 1)
    return np.asarray(cv2.filter2D(picture, -1, kernel / kernel.sum()), np.float32)


def coarse(picture: Picture, share: float) -> Picture:
    """Lose resolution: shrink to a share of the size and enlarge again."""
    h, w = picture.shape[:2]
    small = cv2.resize(
        picture, (max(4, int(w * share)), max(4, int(h * share))), interpolation=cv2.INTER_AREA
    )
    return np.asarray(cv2.resize(small, (w, h), interpolation=cv2.INTER_LINEAR), np.float32)


def noise(picture: Picture, rng: Generator, sigma: float, grain: int = 1) -> Picture:
    """Sensor noise; ``grain`` above 1 gives coarse coloured blotches as small sensors have."""
    h, w = picture.shape[:2]
    shape = (max(2, h // grain), max(2, w // grain), 3)
    speckle = rng.standard_normal(shape, dtype=np.float32) * np.float32(sigma)
    if grain > 1:
        speckle = cv2.resize(speckle, (w, h), interpolation=cv2.INTER_LINEAR) * np.float32(1.3)
    return np.asarray(picture + speckle, np.float32)


def repeated_edge(picture: Picture, rng: Generator) -> Picture:
    """A picture whose outermost pixels go on to its border, as when it was cut from beyond a photo's edge."""
    out = picture.copy()
    h, w = out.shape[:2]
    if rng.random() < 0.5:
        x = int(rng.uniform(0.02, 0.25) * w)
        out[:, :x] = out[:, x : x + 1]
    if rng.random() < 0.5:
        x = int(rng.uniform(0.75, 0.98) * w)
        out[:, x:] = out[:, x - 1 : x]
    if rng.random() < 0.4:
        y = int(rng.uniform(0.02, 0.2) * h)
        out[:y] = out[y : y + 1]
    return out


def jpeg(picture: Picture, quality: int) -> NDArray[np.uint8]:
    """Write as JPEG and read back."""
    plain = np.clip(picture, 0, 255).astype(np.uint8)
    done, data = cv2.imencode(".jpg", plain[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(quality)])
    back = cv2.imdecode(data, cv2.IMREAD_COLOR) if done else None
    return plain if back is None else np.ascontiguousarray(back[..., ::-1], np.uint8)


def camera(picture: Picture, rng: Generator, harm: float = 1.0) -> NDArray[np.uint8]:
    """A random chain of the above; ``harm`` 0 leaves a clean picture, 1 is a poor phone in bad light."""
    h, w = picture.shape[:2]
    size = min(h, w)
    out = light(picture, rng, 0.6 * harm)
    if rng.random() < 0.3 * harm:
        reach = (rng.uniform(0.05, 0.5) * w, rng.uniform(0.05, 0.5) * h)
        out = spot(out, (rng.uniform(0, w), rng.uniform(0, h)), reach, rng.uniform(0.1, 0.75))
    if rng.random() < 0.25 * harm:
        out = reflection(out, rng, rng.uniform(0.05, 0.5))
    if rng.random() < 0.5:
        out = out * (1 + rng.normal(0, 0.12 * harm, 3)).astype(np.float32)
    out = exposure(
        out, float(np.exp(rng.normal(-0.05, 0.3 * harm))), float(np.exp(rng.normal(0, 0.25 * harm)))
    )
    if rng.random() < 0.5 * harm:
        out = cv2.GaussianBlur(out, (0, 0), rng.uniform(0.3, 0.3 + size * 0.016))
    if rng.random() < 0.15 * harm:
        out = motion(out, rng.uniform(2, 2 + size * 0.06), rng.uniform(0, np.pi))
    if rng.random() < 0.3 * harm:
        out = coarse(out, rng.uniform(0.35, 0.9))
    if rng.random() < 0.7:
        out = noise(out, rng, abs(rng.normal(0, 9 * harm)), int(rng.integers(1, 4)))
    if rng.random() < 0.15 * harm:
        blurred = cv2.GaussianBlur(out, (0, 0), 1.2)
        out = out + (out - blurred) * rng.uniform(0.5, 2)
    if rng.random() < 0.6:
        return jpeg(out, int(rng.integers(30, 96)))
    return np.clip(out, 0, 255).astype(np.uint8)
