"""Bar codes, drawn on labels that are turned, tilted, dimmed and small."""

import cv2
import numpy as np
import pytest
import zxingcpp

from models.labels import SeenText
from pipelines.displays import read_codes
from pipelines.displays.training.effects import camera

VIN = "1M8GDM9AXKP042788"
FORMATS = {
    "Code 39": zxingcpp.BarcodeFormat.Code39,
    "Code 128": zxingcpp.BarcodeFormat.Code128,
    "Data Matrix": zxingcpp.BarcodeFormat.DataMatrix,
    "QR code": zxingcpp.BarcodeFormat.QRCode,
}


def label(text: str, source: str, turn: float = 0.0, scale: int = 3) -> np.ndarray:
    """A label on a grey door pillar."""
    code = np.array(zxingcpp.create_barcode(text, FORMATS[source]).to_image(scale=scale), np.uint8)
    h, w = code.shape
    paper = np.full((900, 1200), 120, np.uint8)
    paper[450 - h // 2 - 30 : 450 + h // 2 + 30, 600 - w // 2 - 30 : 600 + w // 2 + 30] = 235
    paper[450 - h // 2 : 450 - h // 2 + h, 600 - w // 2 : 600 - w // 2 + w] = code
    tilted = cv2.warpAffine(paper, cv2.getRotationMatrix2D((600, 450), turn, 1), (1200, 900), borderValue=120)
    return np.repeat(tilted[..., None], 3, axis=2)


@pytest.mark.parametrize("turn", [0, 12, -35, 90, 180])
@pytest.mark.parametrize("source", FORMATS)
def test_a_code_is_read_however_it_lies(source: str, turn: float) -> None:
    (seen,) = read_codes(label(VIN, source, turn, 3 if source.startswith("Code") else 7))
    assert (seen.text, seen.source) == (VIN, source)
    assert seen.box is not None
    x, y, w, h = seen.box
    assert x <= 600 <= x + w and y <= 450 <= y + h


@pytest.mark.parametrize("source", FORMATS)
def test_a_code_is_read_in_a_middling_photo(source: str) -> None:
    drawn = label("UNIT 417", source, 4, 4 if source.startswith("Code") else 8).astype(np.float32)
    photo = camera(drawn * 0.7, np.random.default_rng(2), 0.3)
    assert [s.text for s in read_codes(photo)] == ["UNIT 417"]


def test_other_kinds_and_pictures_without_codes_give_nothing() -> None:
    goods = np.array(zxingcpp.create_barcode("4006381333931", zxingcpp.BarcodeFormat.EAN13).to_image(scale=3))
    assert read_codes(np.repeat(goods[..., None], 3, axis=2).astype(np.uint8)) == []
    noise = np.random.default_rng(1).integers(0, 255, (400, 600, 3)).astype(np.uint8)
    assert read_codes(noise) == []


def test_a_large_photo_gives_the_box_in_its_own_pixels() -> None:
    small = label(VIN, "QR code", scale=8)
    large = np.asarray(cv2.resize(small, (4800, 3600), interpolation=cv2.INTER_LINEAR), np.uint8)
    (one,), (same,) = read_codes(small), read_codes(large)
    assert one.box is not None and same.box is not None
    assert np.abs(np.array(same.box) / 4 - np.array(one.box)).max() < 8


def test_a_code_is_told_once_and_on_one_line() -> None:
    twice = np.concatenate([label("UNIT\n\x07417", "QR code", scale=6)] * 2)
    assert read_codes(twice) == [
        SeenText(text="UNIT 417", source="QR code", confidence=1.0, box=read_codes(twice)[0].box)
    ]
