"""Ways to even out light and colour before a strip is read."""

import numpy as np
import pytest

from pipelines.displays.strips import inked, levelled, standard, stark

BARS = np.zeros((48, 240), bool)
BARS[10:38, 12::24] = True
BARS[10:38, 13::24] = True
BARS[10:38, 14::24] = True


def contrast(seen: np.ndarray, columns: slice) -> float:
    """How far bars and ground lie apart in some columns, in the strip's own deviations."""
    plane, bars = seen.mean(axis=0)[10:38, columns], BARS[10:38, columns]
    return float(abs(plane[bars].mean() - plane[~bars].mean()))


@pytest.mark.parametrize("way", [standard, levelled, inked, stark])
def test_every_way_gives_planes_of_one_deviation(way: object) -> None:
    strip = np.random.default_rng(1).integers(0, 256, (48, 130, 3)).astype(np.uint8)
    seen = way(strip)  # type: ignore[operator]
    assert seen.shape == (3, 48, 130) and seen.dtype == np.float32
    assert seen.std() == pytest.approx(1, abs=0.1)


@pytest.mark.parametrize("way", [levelled, inked])
def test_bars_under_a_veil_stand_out_as_others_do(way: object) -> None:
    """The left half is veiled to a fifth of its contrast, and as bright as the rest is dark."""
    strip = np.where(BARS, 40.0, 140.0)[..., None].repeat(3, axis=2)
    strip[:, :120] = 200 + (strip[:, :120] - 90) * 0.2
    image = strip.astype(np.uint8)
    halves = [slice(6, 90), slice(150, 234)]
    plain = [contrast(standard(image), half) for half in halves]
    even = [contrast(way(image), half) for half in halves]  # type: ignore[operator]
    assert plain[0] < 0.3 * plain[1]
    assert even[0] > 0.6 * even[1]


def test_ink_that_changes_one_channel_a_little_is_found() -> None:
    """On a strong green the ink changes blue alone: 30 of the 255 by which the colours differ."""
    strip = np.zeros((48, 240, 3), np.uint8)
    strip[:] = (10, 250, 60)
    strip[BARS] = (10, 250, 30)
    assert contrast(inked(strip), slice(6, 234)) > 5 * contrast(standard(strip), slice(6, 234))


@pytest.mark.parametrize(("ground", "ink"), [(20.0, 240.0), (230.0, 40.0)])
def test_segments_that_are_not_lit_but_to_be_seen_go(ground: float, ink: float) -> None:
    """The right half holds bars of two fifths of the ink that the left half has."""
    strip = np.full((48, 240, 3), ground)
    strip[BARS] = ink
    strip[:, 120:] = ground + (strip[:, 120:] - ground) * 0.4
    image = strip.astype(np.uint8)
    halves = [slice(6, 90), slice(150, 234)]
    assert contrast(standard(image), halves[1]) > 0.3 * contrast(standard(image), halves[0])
    assert contrast(stark(image), halves[1]) < 0.02 * contrast(stark(image), halves[0])


@pytest.mark.parametrize("way", [levelled, inked, stark])
def test_an_empty_strip_shows_nothing(way: object) -> None:
    seen = way(np.full((48, 100, 3), 90, np.uint8))  # type: ignore[operator]
    assert np.abs(seen).max() < 0.01
