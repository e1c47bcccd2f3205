"""Drawn examples as the trainer gets them."""

import numpy as np
import pytest

from pipelines.displays.alphabet import CHARACTERS
from pipelines.displays.training.drawing import LAYOUTS, Drawing, examples
from pipelines.displays.training.face import PanelStyle
from pipelines.displays.training.lessons import strip_lessons
from pipelines.displays.training.mishaps import half_veiled, scratched, tinted, with_a_hidden_digit
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


@pytest.mark.parametrize("mishap", [scratched, half_veiled, tinted])
def test_mishaps_leave_a_picture(mishap: object) -> None:
    strip = np.random.default_rng(2).uniform(0, 255, (48, 150, 3)).astype(np.float32)
    before = strip.copy()
    for seed in range(20):
        out = mishap(strip, np.random.default_rng(seed))  # type: ignore[operator]
        assert out.shape == strip.shape and out.dtype == np.float32
        assert out.min() >= 0 and out.max() <= 256
        assert np.array_equal(strip, before)
