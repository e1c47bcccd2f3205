"""The geometry reader reads what the renderer draws, whatever the cut of the segments."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipelines.displays.segments import ink, read_segments
from pipelines.displays.straighten import Photo
from pipelines.displays.training.glyphs import DigitShape
from pipelines.displays.training.panel import PanelStyle, draw_panel
from pipelines.displays.training.render import corners

numbers = st.builds(
    lambda minus, whole, part: f"{'-' if minus else ''}{whole}{'.' + part if part else ''}",
    st.booleans(),
    st.integers(0, 9999),
    st.text("0123456789", max_size=3),
)
shapes = st.builds(
    DigitShape,
    width=st.floats(0.5, 0.62),
    thickness=st.floats(0.09, 0.15),
    gap=st.floats(0, 0.02),
    joint=st.sampled_from(["mitre", "hex", "butt"]),
    slant=st.floats(0, 0.15),
    variants=st.frozensets(st.sampled_from("679")),
)


def drawn(text: str, shape: DigitShape, **style: object) -> str | None:
    panel = draw_panel(text, "", PanelStyle(shape=shape, pitch=0.24, point_cell=0.06, cells=1, **style), 60)  # type: ignore[arg-type]
    assert panel.digits is not None
    return read_segments(Photo(panel.picture.astype(np.uint8)), corners(panel.digits))


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(numbers, shapes)
def test_reads_what_is_drawn(text: str, shape: DigitShape) -> None:
    assert drawn(text, shape) == text


@settings(max_examples=20, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(numbers, shapes)
def test_reads_lit_digits_on_black(text: str, shape: DigitShape) -> None:
    assert drawn(text, shape, ink=(255, 60, 40), ground=(16, 10, 10), glow=0.2) == text


@pytest.mark.parametrize("digit", list("0123456789"))
@pytest.mark.parametrize("slant", [0.0, 0.1, 0.2])
def test_every_digit_at_every_slant(digit: str, slant: float) -> None:
    assert drawn(f"8{digit}5", DigitShape(slant=slant)) == f"8{digit}5"


def test_ghost_segments_are_not_read() -> None:
    assert drawn("41.7", DigitShape(), ghost=0.1) == "41.7"


def test_letters_are_not_taken_for_digits() -> None:
    assert drawn("0L", DigitShape()) is None
    assert drawn("HC", DigitShape()) is None


@pytest.mark.parametrize("level", [0, 90, 255])
def test_a_blank_is_never_a_zero(level: int) -> None:
    blank = np.full((100, 300, 3), level, np.uint8)
    assert read_segments(Photo(blank), corners((20, 20, 280, 80))) is None
    assert ink(blank) is None
