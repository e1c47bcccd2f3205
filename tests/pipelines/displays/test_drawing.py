"""Drawn examples as the trainer gets them."""

import numpy as np
import pytest

from pipelines.displays.alphabet import CHARACTERS
from pipelines.displays.training.drawing import LAYOUTS, Drawing, examples
from pipelines.displays.training.face import PanelStyle
from pipelines.displays.training.glyphs import DigitShape, segment_polygons
from pipelines.displays.training.lessons import strip_lessons
from pipelines.displays.training.mishaps import (
    banded,
    doubled,
    half_veiled,
    rippled,
    scratched,
    spattered,
    tinted,
    with_a_hidden_digit,
    with_a_lost_end,
)
from pipelines.displays.training.panel import draw_panel
from pipelines.displays.training.render import paste


@pytest.mark.parametrize("part", sorted(LAYOUTS))
def test_an_example_lies_in_memory_as_laid_out(part: str) -> None:
    """Every field has the shape and fits the type that the shared memory gives it."""
    example = next(examples(part, np.random.default_rng(4)))
    for value, (shape, dtype) in zip(example, LAYOUTS[part].fields, strict=True):
        assert np.shape(value) == shape
        assert np.can_cast(np.asarray(value).dtype, np.dtype(dtype), casting="same_kind")


def test_a_process_hands_over_different_pictures() -> None:
    """Pieces from another process hold drawn words, no two alike, with kinds in range."""
    drawing = Drawing("word", 3, 1)
    try:
        pictures, kinds = drawing.take(2 * LAYOUTS["word"].piece)
    finally:
        drawing.close()
    assert len(pictures) == len(kinds) == 2 * LAYOUTS["word"].piece
    assert len({p.tobytes() for p in pictures}) == len(pictures)
    assert kinds.min() >= 0 and kinds.max() > 1


def test_digits_cut_by_the_edge_are_not_told_as_digits() -> None:
    """Among many strips some are cut within a digit, and that place says '?' where it was cut."""
    rng = np.random.default_rng(1)
    texts = [text for _ in range(120) for _, _, text in strip_lessons(rng)]
    numbers = [t for t in texts if t and t[0] in "0123456789?-" and any(c.isdigit() for c in t)]
    cut = [t for t in numbers if t.endswith("?") or t.startswith("?")]
    assert 0.005 < len(cut) / len(numbers) < 0.12
    assert all(set(t) <= set(CHARACTERS) for t in texts)


def test_a_digit_under_something_opaque_is_not_told() -> None:
    """What lies over a digit takes its contrast away and leaves the others theirs; its label says "?"."""
    ground = np.full((48, 384, 3), 200, np.float32)
    panel = draw_panel("2847", "", PanelStyle(cells=4), 30)
    assert panel.digits is not None
    place = np.array([[1, 0, 20 - panel.digits[0]], [0, 1, 9 - panel.digits[1]], [0, 0, 1]], np.float64)
    strip = paste(panel, place, ground)
    for seed in range(30):
        hidden = with_a_hidden_digit(strip, place, panel, np.random.default_rng(seed))
        assert hidden is not None
        assert hidden[1].count("?") == 1
        for says, true, cell in zip(hidden[1], "2847", panel.cells, strict=True):
            x0, x1 = (int(v + place[0, 2]) for v in (cell.left, cell.right))
            left = hidden[0][9:39, x0:x1].std() / strip[9:39, x0:x1].std()
            assert left < 0.4 if says == "?" else says == true and left > 0.6


def test_an_end_that_is_burnt_out_or_dark_is_not_told() -> None:
    """Little ink is left of the outermost place, all of those that are told; the rest says one "?"."""
    panel = draw_panel("2847", "", PanelStyle(cells=4), 30)
    empty = draw_panel("2847", "", PanelStyle(cells=4, uneven=(0.0,)), 30)
    assert panel.digits is not None
    place = np.array([[1, 0, 20 - panel.digits[0]], [0, 1, 9 - panel.digits[1]], [0, 0, 1]], np.float64)
    strip, bare = (paste(one, place, np.full((48, 384, 3), 120, np.float32)) for one in (panel, empty))
    for seed in range(30):
        lost, without = (
            with_a_lost_end(one, place, panel, np.random.default_rng(seed)) for one in (strip, bare)
        )
        assert lost is not None and without is not None
        says = "".join(lost[1])
        told = says.strip("?")
        assert says in (f"{told}?", f"?{told}") and len(told) in (2, 3)
        at_end = says.endswith("?")
        assert "2847".startswith(told) if at_end else "2847".endswith(told)
        left = []
        for cell in panel.cells if at_end else panel.cells[::-1]:
            part = np.s_[9:39, int(cell.left + place[0, 2]) : int(cell.right + place[0, 2]) + 1]
            ink = [np.abs(a[part] - b[part]).sum() for a, b in ((lost[0], without[0]), (strip, bare))]
            left.append(ink[0] / ink[1])
        assert min(left[: len(told)]) > 0.9
        assert left[-1] < 0.6


@pytest.mark.parametrize("share", [0.3, 0.7])
def test_a_digit_shows_its_share_of_ink(share: float) -> None:
    even, faint, empty = (
        draw_panel("88", "", PanelStyle(cells=2, ghost=0.0, uneven=(1.0, part)), 40)
        for part in (1.0, share, 0.0)
    )
    first, second = (slice(int(cell.left), int(cell.right) + 1) for cell in even.cells)
    assert np.array_equal(even.picture[:, first], faint.picture[:, first])
    ink = [np.abs(one.picture[:, second] - empty.picture[:, second]).max() for one in (even, faint)]
    assert ink[1] / ink[0] == pytest.approx(share, abs=0.03)


def test_a_parted_bar_shows_the_same_digits() -> None:
    """In two halves with a gap between them; what is lit beside it stays."""
    whole = segment_polygons(DigitShape())
    parted = segment_polygons(DigitShape(parted=True))
    assert set(parted) == {*whole, "g2"}
    assert parted["g"][:, 0].max() < parted["g2"][:, 0].min()
    assert parted["g"][:, 0].min() == pytest.approx(whole["g"][:, 0].min())
    assert parted["g2"][:, 0].max() == pytest.approx(whole["g"][:, 0].max())


def test_waves_change_light_by_a_fifth_at_most() -> None:
    strip = np.full((48, 150, 3), 100, np.float32)
    for seed in range(20):
        out = rippled(strip, np.random.default_rng(seed))
        assert 3 < np.abs(out - strip).max() <= 20.001


@pytest.mark.parametrize("mishap", [scratched, half_veiled, tinted, banded, doubled, spattered])
def test_mishaps_leave_a_picture(mishap: object) -> None:
    strip = np.random.default_rng(2).uniform(0, 255, (48, 150, 3)).astype(np.float32)
    before = strip.copy()
    for seed in range(20):
        out = mishap(strip, np.random.default_rng(seed))  # type: ignore[operator]
        assert out.shape == strip.shape and out.dtype == np.float32
        assert out.min() >= 0 and out.max() <= 256
        assert np.array_equal(strip, before)
