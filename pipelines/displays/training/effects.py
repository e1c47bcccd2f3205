"""What a camera and a workshop do to a picture. Everything takes and gives RGB float32, 0 to 255."""

from functools import lru_cache

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


def mirrored(picture: Picture, scene: Picture, rng: Generator, strength: float) -> Picture:
    """A scene mirrored in the glass: its light is added, less where it is dark.

    Args:
        picture: what lies behind the glass.
        scene: what is mirrored; a small picture will do, because a mirrored scene is out of focus.
        rng: chooses the part of the glass in which it is seen.
        strength: share of light that is mirrored at most.
    """
    h, w = picture.shape[:2]
    veil = cv2.resize(cv2.GaussianBlur(scene, (0, 0), 1.2), (w, h), interpolation=cv2.INTER_LINEAR)
    angle, offset, soft = rng.uniform(0, 2 * np.pi), rng.uniform(-0.6, 0.6), rng.uniform(0.03, 0.6)
    x = np.linspace(-1, 1, w, dtype=np.float32)[None, :] * np.float32(np.cos(angle))
    y = np.linspace(-1, 1, h, dtype=np.float32)[:, None] * np.float32(np.sin(angle))
    seen = np.clip((x + y - np.float32(offset)) / np.float32(soft) + 0.5, 0, 1) * np.float32(strength / 255)
    return np.asarray(picture + (255 - picture) * (veil * seen[..., None]), np.float32)


def hazy(picture: Picture, contrast: float) -> Picture:
    """Less contrast, as behind scratched or dirty glass."""
    mean = picture.mean(axis=(0, 1))
    return np.asarray(mean + (picture - mean) * np.float32(contrast), np.float32)


def motion(picture: Picture, length: float, angle: float) -> Picture:
    """Blur along a line of ``length`` pixels."""
    size = max(3, int(length) | 1)
    kernel = np.zeros((size, size), np.float32)
    middle = size // 2
    dx, dy = np.cos(angle) * middle, np.sin(angle) * middle
    start, end = (round(middle - dx), round(middle - dy)), (round(middle + dx), round(middle + dy))
    cv2.line(kernel, start, end, 1.0, 1)
    return np.asarray(cv2.filter2D(picture, -1, kernel / kernel.sum()), np.float32)


def coarse(picture: Picture, share: tuple[float, float]) -> Picture:
    """Lose resolution: the picture at a share of its width and height."""
    h, w = picture.shape[:2]
    size = (max(8, round(w * share[0])), max(8, round(h * share[1])))
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.float32)


@lru_cache(maxsize=2)
def _speckles(side: int = 1024) -> NDArray[np.float32]:
    """Normal noise to cut pieces from, because drawing it anew is dear."""
    return np.random.default_rng(20).standard_normal((side, side, 3), dtype=np.float32)


def _speckle(shape: tuple[int, int], rng: Generator) -> NDArray[np.float32]:
    h, w = shape
    stock = _speckles()
    if h > stock.shape[0] or w > stock.shape[1]:
        return rng.standard_normal((h, w, 3), dtype=np.float32)
    y, x = int(rng.integers(0, stock.shape[0] - h + 1)), int(rng.integers(0, stock.shape[1] - w + 1))
    piece = stock[y : y + h, x : x + w]
    turns = rng.integers(0, 2, 2) * 2 - 1
    return piece[:: turns[0], :: turns[1]]


def noise(picture: Picture, rng: Generator, sigma: float, grain: int = 1) -> Picture:
    """Sensor noise; ``grain`` above 1 gives coarse coloured blotches as small sensors have."""
    h, w = picture.shape[:2]
    speckle = _speckle((max(2, h // grain), max(2, w // grain)), rng) * np.float32(sigma)
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


def jpeg(picture: Picture | NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    """Write as JPEG and read back."""
    plain = np.clip(picture, 0, 255).astype(np.uint8)
    done, data = cv2.imencode(".jpg", plain[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(quality)])
    back = cv2.imdecode(data, cv2.IMREAD_COLOR) if done else None
    return plain if back is None else np.ascontiguousarray(back[..., ::-1], np.uint8)


def camera(
    picture: Picture, rng: Generator, harm: float = 1.0, least: float = 0.4, scene: Picture | None = None
) -> NDArray[np.uint8]:
    """A random chain of the above.

    Args:
        picture: what the camera sees.
        rng: decides what happens.
        harm: 0 leaves a clean picture, 1 is a poor phone in bad light.
        least: smallest share of its resolution that the picture may lose its detail to.
        scene: something that may be mirrored in the glass.
    """
    h, w = picture.shape[:2]
    out = _lit(picture, rng, harm, scene)
    if rng.random() < 0.5 * harm:
        out = cv2.GaussianBlur(out, (0, 0), rng.uniform(0.3, 0.3 + min(h, w) * 0.016))
    if rng.random() < 0.2 * harm:
        angle = rng.normal(0, 0.15) if rng.random() < 0.5 else rng.uniform(0, np.pi)
        out = motion(out, rng.uniform(2, 2 + min(h, w) * 0.07), angle)
    small = rng.random() < 0.45 * harm
    if small:
        # Noise and compression come at the size at which a picture was taken.
        both = float(np.exp(rng.uniform(np.log(least), 0)))
        one = float(np.exp(rng.uniform(np.log(0.55), 0))) if rng.random() < 0.5 else 1.0
        sides = (max(both * one, least), both) if rng.random() < 0.5 else (both, max(both * one, least))
        out = coarse(out, sides)
    if rng.random() < 0.7:
        out = noise(out, rng, abs(rng.normal(0, 9 * harm)), int(rng.integers(1, 4)))
    if rng.random() < 0.15 * harm:
        blurred = cv2.GaussianBlur(out, (0, 0), 1.2)
        out = out + (out - blurred) * rng.uniform(0.5, 2)
    shot = np.clip(out, 0, 255).astype(np.uint8)
    if rng.random() < 0.6:
        shot = jpeg(shot, int(rng.integers(12, 40) if rng.random() < 0.3 * harm else rng.integers(35, 96)))
    if small:
        way = cv2.INTER_CUBIC if rng.random() < 0.3 else cv2.INTER_LINEAR
        shot = np.asarray(cv2.resize(shot, (w, h), interpolation=way), np.uint8)
    return shot


def _lit(picture: Picture, rng: Generator, harm: float, scene: Picture | None) -> Picture:
    """The picture in uneven light, with reflections, as the camera exposes it."""
    h, w = picture.shape[:2]
    out = light(picture, rng, 0.6 * harm)
    if scene is not None and rng.random() < 0.3 * harm:
        out = mirrored(out, scene, rng, rng.uniform(0.1, 0.75))
    if rng.random() < 0.3 * harm:
        reach = (rng.uniform(0.05, 0.5) * w, rng.uniform(0.05, 0.5) * h)
        out = spot(out, (rng.uniform(0, w), rng.uniform(0, h)), reach, rng.uniform(0.1, 0.75))
    if rng.random() < 0.25 * harm:
        out = reflection(out, rng, rng.uniform(0.05, 0.5))
    if rng.random() < 0.2 * harm:
        out = hazy(out, rng.uniform(0.25, 0.9))
    if rng.random() < 0.5:
        out = out * (1 + rng.normal(0, 0.12 * harm, 3)).astype(np.float32)
    gain, bend = float(np.exp(rng.normal(-0.05, 0.3 * harm))), float(np.exp(rng.normal(0, 0.25 * harm)))
    return exposure(out, gain, bend)
