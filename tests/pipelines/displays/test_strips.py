"""Ways to even out light and colour before a strip is read."""

import numpy as np
import pytest

from pipelines.displays import strips
from pipelines.displays.alphabet import CHARACTERS
from pipelines.displays.decoding import Heard
from pipelines.displays.straighten import Photo, rectangle
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


def test_digits_beyond_the_corners_widen_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """Corners 4 digits wide; one digit more is seen at the right, and one far off that belongs to nothing."""
    quad = rectangle(200, 100, 160, 40)
    spots: dict[str, list[float]] = {"read": [0.5, 1.5, 2.5, 3.5, 4.5], "again": [0.5, 1.5, 2.5, 3.5, 5.9]}

    def steps(seen: strips._Seen, reader: str) -> list[np.ndarray]:
        width, height = seen.widths[0], strips._WIDE[0]
        out = np.zeros((-(-width // 4), 18), np.float32)
        out[:, 0] = 0.5
        for spot in spots[reader]:
            out[int((strips._WIDE[1] + spot) * height / 4), 2] = 1
        return [np.log(out + 1e-6)]

    monkeypatch.setattr(strips, "_steps", steps)
    wider = strips.with_missed_ends(Photo(np.zeros((300, 700, 3), np.uint8)), quad)
    assert wider is not None
    assert wider[0] == pytest.approx(quad[0], abs=0.01) and wider[3] == pytest.approx(quad[3], abs=0.01)
    assert wider[1] == pytest.approx((200 + 4.8 * 40, 100), abs=6)
    spots["read"] = spots["again"] = [0.5, 1.5, 2.5, 3.5]
    assert strips.with_missed_ends(Photo(np.zeros((300, 700, 3), np.uint8)), quad) is None


@pytest.mark.parametrize(
    ("spots", "left", "right"), [([2.5, 3.5], 2.2, 3.8), ([0.1, 3.9], 0.0, 4.0), ([], 0.0, 4.0)]
)
def test_corners_are_drawn_in_to_what_is_seen(
    monkeypatch: pytest.MonkeyPatch, spots: list[float], left: float, right: float
) -> None:
    """Corners 4 digit heights wide; the first thing seen is no whole digit."""
    height, space, stretch = (strips._LOOKS[1][n] for n in (0, 1, 4))

    def steps(seen: strips._Seen, reader: str) -> list[np.ndarray]:
        out = np.zeros((-(-seen.widths[0] // 4), 18), np.float32)
        out[:, 0] = 0.5
        for n, spot in enumerate(spots):
            out[int((space + spot * stretch) * height / 4), CHARACTERS.index("5" if n else "?") + 1] = 1
        return [np.log(out + 1e-6)]

    monkeypatch.setattr(strips, "_steps", steps)
    drawn = strips.drawn_in(Photo(np.zeros((300, 700, 3), np.uint8)), rectangle(200, 100, 160, 40))
    assert drawn[[0, 3], 0] == pytest.approx(200 + 40 * left, abs=8)
    assert drawn[[1, 2], 0] == pytest.approx(200 + 40 * right, abs=8)
    assert drawn[:, 1] == pytest.approx([100, 100, 140, 140], abs=0.01)


def test_what_is_clear_at_once_asks_no_second_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def said(share: float) -> object:
        def heard(seen: object, reader: str = "read") -> Heard:
            asked.append(reader)
            return Heard((("12.5", share),), ("12.5",) * 4, (share,) * 4, share, reader)  # type: ignore[arg-type]

        return heard

    photo, quad = Photo(np.zeros((300, 700, 3), np.uint8)), rectangle(200, 100, 160, 40)
    monkeypatch.setattr(strips, "_heard", said(0.97))
    assert len(strips.trials(photo, quad)[0]) == 1 and asked == ["read"]
    monkeypatch.setattr(strips, "_heard", said(0.5))
    assert (
        len(strips.trials(photo, quad)[0]) > strips.MANY and asked.count("again") == asked.count("read") - 1
    )


@pytest.mark.parametrize("way", [levelled, inked, stark])
def test_an_empty_strip_shows_nothing(way: object) -> None:
    seen = way(np.full((48, 100, 3), 90, np.uint8))  # type: ignore[operator]
    assert np.abs(seen).max() < 0.01
