"""The whole reader, with its real networks, on drawn photos of gauges."""

from decimal import Decimal

import numpy as np
import pytest

from pipelines.displays import read_display
from pipelines.displays.training.effects import spot
from pipelines.displays.training.render import View, render_plain, render_scene

pytestmark = pytest.mark.model

NEAR = View(turn=6, width=0.5, lean=0.03)


def scene(
    text: str, unit: str, style: str, seed: int = 1, view: View | None = NEAR, harm: float = 0.3
) -> np.ndarray:
    return render_scene(text, unit, style, np.random.default_rng(seed), view=view, harm=harm)


@pytest.mark.parametrize(
    ("text", "unit", "code", "style"),
    [
        ("6.02", "mm", "mm", "caliper"),
        ("-12.70", "mm", "mm", "caliper"),
        ("0.0045", "in", "[in_i]", "dial_indicator"),
        ("13.5", "psi", "[psi]", "pressure_gauge"),
        ("240", "kPa", "kPa", "pressure_gauge"),
        ("12.45", "V", "V", "multimeter"),
        ("178.4", "°F", "[degF]", "thermometer"),
    ],
)
def test_reads_text_and_unit(text: str, unit: str, code: str, style: str) -> None:
    reading = read_display(scene(text, unit, style), "abc")
    assert reading.capture == "abc"
    assert (reading.text, reading.unit) == (text, code)
    assert str(reading.value) == str(Decimal(text))
    assert len(reading.digit_confidence) == len(text)
    assert reading.confidence > 0.5
    assert reading.box is not None and reading.box[2] > reading.box[3]


@pytest.mark.parametrize("turn", [-40, -20, 20, 40])
def test_reads_a_turned_display(turn: float) -> None:
    reading = read_display(scene("29.79", "mm", "caliper", view=View(turn=turn, width=0.5, lean=0.03)), "0")
    assert reading.text == "29.79"


def test_overload_has_no_value() -> None:
    reading = read_display(scene("0L", "V", "multimeter"), "0")
    assert reading.text == "OL" and reading.value is None and reading.reason


def test_letters_are_no_number() -> None:
    reading = read_display(scene("HoLd", "", "multimeter"), "0")
    assert reading.text is None and reading.reason


@pytest.mark.parametrize("style", ["caliper", "multimeter", "thermometer"])
def test_a_blank_display_gives_no_reading(style: str) -> None:
    reading = read_display(scene("", "mm", style), "0")
    assert reading.text is None and reading.value is None
    assert reading.reason is not None and "display" in reading.reason


@pytest.mark.parametrize("seed", range(6))
def test_no_display_gives_no_reading(seed: int) -> None:
    reading = read_display(render_plain(np.random.default_rng(seed)), "0")
    assert reading.text is None and reading.reason


@pytest.mark.parametrize("level", [0, 128, 255])
def test_a_plain_wall_gives_no_reading(level: int) -> None:
    reading = read_display(np.full((480, 640, 3), level, np.uint8), "0")
    assert reading.text is None and reading.reason is not None and "No lit display" in reading.reason


def test_a_hopelessly_blurred_display_is_not_sure() -> None:
    import cv2

    blurred = cv2.GaussianBlur(scene("6.02", "mm", "caliper"), (0, 0), 24)
    reading = read_display(np.asarray(blurred), "0")
    assert reading.reason is not None
    assert reading.text is None or reading.confidence < 0.9


def test_glare_over_the_digits_is_not_sure() -> None:
    clean = scene("88.88", "mm", "caliper")
    box = read_display(clean, "0").box
    assert box is not None
    x, y, w, h = box
    burnt = spot(clean.astype(np.float32), (x + w * 0.7, y + h / 2), (w * 0.25, h * 0.9), 2.5)
    reading = read_display(np.clip(burnt, 0, 255).astype(np.uint8), "0")
    assert reading.text is None or reading.reason is not None


def test_digits_cut_by_the_edge_give_no_sure_reading() -> None:
    whole = scene("456.78", "mm", "multimeter", view=View(turn=0, width=0.6))
    box = read_display(whole, "0").box
    assert box is not None
    cut = whole[:, : box[0] + int(box[2] * 0.55)]
    reading = read_display(np.ascontiguousarray(cut), "0")
    assert reading.text is None or reading.reason is not None


def test_an_array_that_is_no_photo_is_refused() -> None:
    with pytest.raises(ValueError, match="RGB"):
        read_display(np.zeros((10, 10), np.uint8), "0")
    assert read_display(np.zeros((8, 8, 3), np.uint8), "0").reason
