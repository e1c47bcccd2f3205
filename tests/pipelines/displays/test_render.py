"""The renderer draws what it is asked for, and the same again from the same seed."""

import subprocess
import sys

import numpy as np
import pytest

from pipelines.displays.training.panel import PanelStyle, draw_panel
from pipelines.displays.training.render import render_scene
from pipelines.displays.training.styles import STYLES


@pytest.mark.parametrize("style", sorted(STYLES))
def test_same_seed_same_picture(style: str) -> None:
    first, again, other = (render_scene("1.23", "mm", style, np.random.default_rng(s)) for s in (5, 5, 6))
    assert first.shape == (960, 1280, 3) and first.dtype == np.uint8
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_panel_knows_where_its_digits_are() -> None:
    panel = draw_panel("-8.5", "mm", PanelStyle(minus_far=True, cells=5), 60)
    near = draw_panel("-8.5", "mm", PanelStyle(minus_far=False, cells=5), 60)
    assert panel.digits is not None and near.digits is not None
    assert panel.digits[0] < near.digits[0] and panel.digits[2] == near.digits[2]
    assert [mark.word for mark in panel.units] == ["mm"]


def test_blank_panel_has_no_digits() -> None:
    assert draw_panel("", "mm", PanelStyle(), 60).digits is None


def test_importing_the_stage_loads_no_picture_library() -> None:
    code = "import sys, pipelines.displays; print([m for m in ('cv2', 'onnxruntime') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
