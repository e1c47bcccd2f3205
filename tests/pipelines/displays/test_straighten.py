"""Cutting a piece out of a photo, out of its smaller copies too."""

import cv2
import numpy as np
import pytest

from pipelines.displays import straighten
from pipelines.displays.straighten import Photo, cut, rectangle

DRAWN = np.zeros((1601, 2403, 3), np.uint8)
cv2.putText(DRAWN, "8527", (200, 1200), cv2.FONT_HERSHEY_SIMPLEX, 24, (255, 240, 210), 90)


@pytest.mark.parametrize("height", [20, 60, 190])
def test_copies_do_not_change_what_is_cut_out(monkeypatch: pytest.MonkeyPatch, height: int) -> None:
    """Against the same piece averaged from the whole photo at once."""
    width = round(2.2 * height)
    size, place = rectangle(0, 0, width, height), rectangle(100, 400, 2200, 1000)
    piece = cut(Photo(DRAWN), place, size, (height, width)).astype(float)
    monkeypatch.setattr(straighten, "_SPARE", 1e9)
    at_once = cut(Photo(DRAWN), place, size, (height, width)).astype(float)
    assert at_once.std() > 50
    assert np.sqrt(((piece - at_once) ** 2).mean()) < 0.08 * at_once.std()
    assert piece.std() == pytest.approx(at_once.std(), rel=0.03)


def test_copies_are_made_once_and_never_smaller_than_wanted() -> None:
    photo = Photo(DRAWN)
    for times in (1.0, 3.9, 4.0, 9.0, 30.0):
        copy, halved = photo.copy_for(times)
        assert copy.shape[0] == 1601 // 2**halved
        assert times / 2**halved >= 2 or halved == 0
        assert photo.copy_for(times)[0] is copy
    assert photo.copy_for(3.9)[0] is photo.pixels
