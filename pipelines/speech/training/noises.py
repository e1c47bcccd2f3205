"""Drawn machine noise for training: engines, saws, blows, air, traffic, hum, alarms, at random settings.

    python -m pipelines.speech.training.noises OUT.ogg --minutes 60 --seed 1

None is a recording. Wider than the noises of the samples, so that no single machine is learnt by heart.
"""

import argparse
from collections.abc import Callable
from multiprocessing import Pool
from pathlib import Path

import numpy as np

from samples.noise import Generator, in_bursts, level, ring, shaped, strokes, struck
from samples.sound import RATE, Sound, write_sound

CHUNK_S = 12.0


def _tones(rng: Generator, low: float, high: float, most: int = 5) -> list[float]:
    return sorted(float(x) for x in np.exp(rng.uniform(np.log(low), np.log(high), rng.integers(2, most + 1))))


def engine(count: int, rng: Generator) -> Sound:
    """Explosions at a firing rate, a rattle, broad noise."""
    fire = strokes(rng, count, float(np.exp(rng.uniform(np.log(10), np.log(140)))), rng.uniform(0.005, 0.06))
    force = 1 + rng.uniform(0.05, 0.5) * rng.standard_normal(len(fire))
    thump = struck(count, fire, force, ring(_tones(rng, 35, 400), rng.uniform(0.006, 0.03)))
    rattle = struck(count, fire, np.abs(force), ring(_tones(rng, 500, 5000), rng.uniform(0.001, 0.008)))
    hiss = shaped(rng, count, 60, rng.uniform(2000, 7800), tilt=rng.uniform(1, 5))
    total = level(thump) + rng.uniform(0, 0.9) * level(rattle)
    return np.asarray(total + rng.uniform(0.1, 0.9) * level(hiss.astype(np.float32)), np.float32)


def buzz(count: int, rng: Generator) -> Sound:
    """A row of harmonics that wanders: saws, grinders, air motors, small two-stroke engines."""
    wander = np.interp(
        np.arange(count), np.linspace(0, count, 12), rng.normal(0, rng.uniform(0.005, 0.15), 12)
    )
    pitch = float(np.exp(rng.uniform(np.log(50), np.log(1100)))) * np.exp(wander)
    phase = 2 * np.pi * np.cumsum(pitch) / RATE
    tilt = rng.uniform(0.3, 1.5)
    rows = sum(np.sin(k * phase + rng.uniform(0, 6.3)) / k**tilt * (k * pitch < 7600) for k in range(1, 30))
    hiss = shaped(rng, count, rng.uniform(100, 2500), 7800, tilt=rng.uniform(0, 3))
    return (
        level(np.asarray(rows, np.float32)) + rng.uniform(0.1, 1.5) * level(hiss.astype(np.float32))
    ).astype(np.float32)


def blows(count: int, rng: Generator) -> Sound:
    """Hammers on steel, slow by hand or fast by air."""
    beats = strokes(rng, count, float(np.exp(rng.uniform(np.log(0.7), np.log(45)))), rng.uniform(0.01, 0.3))
    force = np.abs(1 + rng.uniform(0.1, 0.6) * rng.standard_normal(len(beats)))
    return struck(count, beats, force, ring(_tones(rng, 250, 6500), float(np.exp(rng.uniform(-6.2, -2.6)))))


def air(count: int, rng: Generator) -> Sound:
    """Escaping air, spray, a fan: a band of noise."""
    low = float(np.exp(rng.uniform(np.log(60), np.log(2500))))
    return shaped(rng, count, low, min(7900, low * rng.uniform(3, 60)), tilt=rng.uniform(0, 4)).astype(
        np.float32
    )


def traffic(count: int, rng: Generator) -> Sound:
    """Noise that swells and fades."""
    swell = np.interp(np.arange(count), np.linspace(0, count, 8), rng.uniform(0.05, 1, 8))
    return (shaped(rng, count, 40, rng.uniform(900, 5000), tilt=rng.uniform(2, 7)) * swell).astype(np.float32)


def hum(count: int, rng: Generator) -> Sound:
    """Mains and motors: steady harmonics."""
    t = np.arange(count) / RATE
    base = rng.choice((50.0, 60.0, 100.0, 120.0, rng.uniform(40, 400)))
    rows = [rng.uniform(0, 1) / k * np.sin(2 * np.pi * base * k * t) for k in range(1, 12)]
    return np.asarray(np.sum(rows, axis=0), np.float32)


def alarm(count: int, rng: Generator) -> Sound:
    """A back-up alarm."""
    t = np.arange(count) / RATE
    beep = np.sign(np.sin(2 * np.pi * rng.uniform(0.5, 2) * t)) > 0
    return (np.sin(2 * np.pi * rng.uniform(700, 2800) * t) * beep).astype(np.float32)


_MACHINES: tuple[Callable[[int, Generator], Sound], ...] = (
    engine, engine, engine, buzz, buzz, blows, blows, air, air, traffic, hum, alarm,
)  # fmt: skip


def any_noise(seed: int) -> Sound:
    """``CHUNK_S`` seconds of one to three machines at once, some in bursts; RMS 1 where heard."""
    rng = np.random.default_rng(seed)
    count = round(CHUNK_S * RATE)
    total = np.zeros(count, np.float32)
    for _ in range(rng.choice((1, 1, 2, 2, 3))):
        sound = level(_MACHINES[rng.integers(len(_MACHINES))](count, rng))
        if rng.random() < 0.35:
            sound = in_bursts(sound, rng, (0.15, 2.5), (0.2, 3.0))
        total += sound * float(rng.uniform(0.3, 1.0))
    return level(total)


def main() -> None:
    """Write the noise asked for on the command line."""
    parser = argparse.ArgumentParser(description="Draw machine noise.")
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    seeds = range(
        arguments.seed * 1_000_000, arguments.seed * 1_000_000 + round(arguments.minutes * 60 / CHUNK_S)
    )
    with Pool(2) as pool:
        chunks = pool.map(any_noise, seeds, chunksize=8)
    write_sound(arguments.out, np.concatenate([0.12 * np.clip(chunk, -8, 8) for chunk in chunks]))


if __name__ == "__main__":
    main()
