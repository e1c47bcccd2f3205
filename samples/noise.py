"""Machine noise of our own making, and mixing it with speech at a chosen ratio.

The sounds are built from what the machines do: explosions of an engine at its firing rate, strokes of a
compressor's pump, blows of an air hammer or an impact wrench that make steel ring. All are seeded: the same
call gives the same samples. Signal-to-noise ratios are of the speech where somebody speaks, not of the
pauses.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from samples.sound import RATE, SOUND_ENDINGS, Sound, SoundError, read_sound

_FRAME = RATE // 50
_ACTIVE_BELOW_LOUD_DB = 25.0

Generator = np.random.Generator


def shaped(rng: Generator, count: int, low: float, high: float, tilt: float = 0.0) -> NDArray[np.float64]:
    """Random noise of RMS 1 between two frequencies (hertz), falling by ``tilt`` decibel an octave."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hertz = np.fft.rfftfreq(count, 1 / RATE)
    gain = np.where((hertz >= low) & (hertz <= high), 1.0, 0.0)
    gain *= np.power(np.maximum(hertz, low) / low, -tilt / 6.02)
    noise = np.fft.irfft(spectrum * gain, count)
    return np.asarray(noise / max(float(np.sqrt(np.mean(noise**2))), 1e-12))


def ring(tones: list[float], decay_s: float) -> NDArray[np.float64]:
    """One blow on a piece of steel: tones (hertz) that die away with the given time constant."""
    t = np.arange(int(decay_s * 6 * RATE)) / RATE
    waves = [
        np.sin(2 * np.pi * tone * t) * np.exp(-t / (decay_s * (1 - 0.12 * i))) for i, tone in enumerate(tones)
    ]
    return np.asarray(np.sum(waves, axis=0) / len(tones))


def strokes(rng: Generator, count: int, rate: float, jitter: float) -> NDArray[np.int64]:
    """Sample numbers of strokes, ``rate`` a second, each off by about ``jitter`` times the period."""
    period = RATE / rate
    times = np.arange(0, count / period) * period
    times += rng.normal(0, jitter * period, len(times))
    return np.clip(times, 0, count - 1).astype(np.int64)


def struck(
    count: int, strokes: NDArray[np.int64], force: NDArray[np.float64], blow: NDArray[np.float64]
) -> Sound:
    """Blows of the given force at the given samples."""
    impulses = np.zeros(count)
    np.add.at(impulses, strokes, force)
    size = count + len(blow)
    return np.asarray(
        np.fft.irfft(np.fft.rfft(impulses, size) * np.fft.rfft(blow, size), size)[:count], np.float32
    )


def engine_idle(seconds: float, rng: Generator) -> Sound:
    """A large engine at about 650 revolutions a minute: firing at 43 Hz, rumble, rattle of the injection."""
    count = round(seconds * RATE)
    fire = strokes(rng, count, 43.0, 0.03)
    force = 1 + 0.25 * rng.standard_normal(len(fire))
    thump = struck(count, fire, force, ring([52.0, 87.0, 131.0, 205.0], 0.016))
    rattle = struck(count, fire, np.abs(force), ring([940.0, 1710.0, 2630.0], 0.0035))
    return (thump + 0.6 * rattle + 0.1 * shaped(rng, count, 150, 5000, tilt=3)).astype(np.float32)


def compressor(seconds: float, rng: Generator) -> Sound:
    """A piston compressor: 12 strokes a second, the motor's hum, air in the intake."""
    count = round(seconds * RATE)
    t = np.arange(count) / RATE
    beats = strokes(rng, count, 12.0, 0.01)
    pump = struck(count, beats, np.ones(len(beats)), ring([68.0, 160.0, 410.0], 0.02))
    hum = sum(np.sin(2 * np.pi * 60 * k * t) / k for k in (1, 2, 4, 6))
    return (pump + 0.12 * hum + 0.10 * shaped(rng, count, 200, 6000, tilt=3)).astype(np.float32)


def in_bursts(sound: Sound, rng: Generator, on_s: tuple[float, float], off_s: tuple[float, float]) -> Sound:
    """The sound let through in bursts whose lengths and gaps lie between the given bounds (seconds)."""
    gate = np.zeros(len(sound), dtype=np.float32)
    at = round(rng.uniform(*off_s) * RATE / 2)
    while at < len(gate):
        end = at + round(rng.uniform(*on_s) * RATE)
        gate[at:end] = 1.0
        at = end + round(rng.uniform(*off_s) * RATE)
    return sound * gate


def air_hammer(seconds: float, rng: Generator) -> Sound:
    """An air hammer two bays away: bursts of 38 blows a second on a ringing plate, escaping air."""
    count = round(seconds * RATE)
    blows = strokes(rng, count, 38.0, 0.02)
    force = 1 + 0.2 * rng.standard_normal(len(blows))
    ringing = struck(count, blows, force, ring([620.0, 1370.0, 2240.0, 3510.0], 0.009))
    return in_bursts(
        ringing + 0.04 * shaped(rng, count, 800, 7500).astype(np.float32), rng, (0.8, 2.5), (1.5, 5.0)
    )


def impact_wrench(seconds: float, rng: Generator) -> Sound:
    """An impact wrench: short bursts of 22 blows a second, a whining air motor."""
    count = round(seconds * RATE)
    t = np.arange(count) / RATE
    blows = strokes(rng, count, 22.0, 0.03)
    ringing = struck(count, blows, np.ones(len(blows)), ring([880.0, 1960.0, 3120.0, 4700.0], 0.006))
    whine = 0.06 * np.sin(2 * np.pi * 410 * t + 3 * np.sin(2 * np.pi * 1.3 * t))
    noise = ringing + whine + 0.06 * shaped(rng, count, 1000, 7000)
    return in_bursts(noise.astype(np.float32), rng, (0.6, 1.8), (2.0, 6.0))


def busy_shop(seconds: float, rng: Generator) -> Sound:
    """An engine idling, with an air hammer and an impact wrench now and then."""
    shares = ((engine_idle, 0.6), (air_hammer, 0.6), (impact_wrench, 0.5))
    layers = [level(machine(seconds, rng)) * share for machine, share in shares]
    return np.asarray(np.sum(layers, axis=0), dtype=np.float32)


NOISES: dict[str, Callable[[float, Generator], Sound]] = {
    "engine_idle": engine_idle,
    "compressor": compressor,
    "air_hammer": air_hammer,
    "impact_wrench": impact_wrench,
    "busy_shop": busy_shop,
}


def active_rms(sound: Sound) -> float:
    """RMS of the stretches where something is heard.

    Frames of 20 ms that lie more than 25 dB under the loud ones (the 95th percentile) count as pauses.
    """
    whole = len(sound) // _FRAME * _FRAME
    if not whole:
        return 0.0
    power = np.mean(np.square(sound[:whole].astype(np.float64)).reshape(-1, _FRAME), axis=1)
    floor = np.percentile(power, 95) * 10 ** (-_ACTIVE_BELOW_LOUD_DB / 10)
    active = power[power >= floor]
    return float(np.sqrt(active.mean())) if len(active) else 0.0


def level(sound: Sound) -> Sound:
    """The sound scaled so that it has an RMS of 1 where it is heard."""
    rms = active_rms(sound)
    return (sound / rms).astype(np.float32) if rms else sound


def mix(speech: Sound, noise: Sound, snr_db: float) -> Sound:
    """Speech with noise under it, scaled down together when the sum would clip.

    Args:
        speech: the voice; its length is kept.
        noise: repeated or cut to that length.
        snr_db: speech where somebody speaks over noise where it is heard, in decibel.

    Returns:
        The mixture, of the length of ``speech``.
    """
    under = np.resize(noise, len(speech)) if len(noise) else noise
    heard = active_rms(under)
    if not heard:
        return speech
    gain = active_rms(speech) / heard * 10 ** (-snr_db / 20)
    mixed = speech + under * gain
    peak = float(np.max(np.abs(mixed), initial=0.0))
    return (mixed * min(1.0, 0.98 / peak) if peak else mixed).astype(np.float32)


def noise_row(folder: Path) -> Sound:
    """All sounds of a folder in the order of their names, one after another, each at the same level.

    Raises:
        SoundError: the folder holds no sound.
    """
    paths = sorted(path for path in folder.glob("*") if path.suffix.casefold() in SOUND_ENDINGS)
    if not paths:
        raise SoundError(
            f"{folder} holds no sound; name a folder with files of {', '.join(sorted(SOUND_ENDINGS))}"
        )
    return np.concatenate([level(read_sound(path)) for path in paths])
