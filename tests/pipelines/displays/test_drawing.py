"""Drawn examples as the trainer gets them."""

import numpy as np
import pytest

from pipelines.displays.alphabet import CHARACTERS
from pipelines.displays.training.drawing import LAYOUTS, Drawing, examples
from pipelines.displays.training.lessons import strip_lessons


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
