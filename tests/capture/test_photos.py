"""Decoding photos: upright, eight bits, three colours; and refusal of what is no photo or too much."""

import io
import struct
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import capture.media.photos as photos
from capture.media import UnreadableMedia, load_photo, probe, write_review_photo
from tests.capture.material import png_header

RED, BLUE, WHITE = (200, 30, 30), (30, 30, 200), (255, 255, 255)
# how a camera stores a picture so that the tag turns it upright
STORED = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.swapaxes(0, 1),
    6: lambda a: np.rot90(a, 1),
    7: lambda a: a[::-1, ::-1].swapaxes(0, 1),
    8: lambda a: np.rot90(a, -1),
}


def scene() -> np.ndarray:
    """A wide picture with a different colour in three of its corners."""
    picture = np.full((64, 128, 3), 255, np.uint8)
    picture[:16, :16] = RED
    picture[:16, -16:] = BLUE
    picture[-16:, :16] = 0
    return picture


def dropped(folder: Path, name: str, image: Image.Image, **options: object) -> Path:
    path = folder / name
    image.save(path, **options)
    return path


def refusal(path: Path) -> str:
    with pytest.raises(UnreadableMedia) as caught:
        probe(path, "")
    return str(caught.value)


def oriented(tag: int) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = tag
    return exif


def assert_scene(path: Path, tolerance: float = 12) -> None:
    found = load_photo(path)
    assert found.dtype == np.uint8
    assert found.shape == (64, 128, 3)
    assert np.abs(found.astype(int) - scene()).mean() < tolerance
    capture = probe(path, "")
    assert (capture.width, capture.height, capture.kind) == (128, 64, "photo")
    assert capture.duration_s is None


@pytest.mark.parametrize("tag", STORED)
def test_every_orientation_is_turned_upright(tmp_path: Path, tag: int) -> None:
    stored = Image.fromarray(np.ascontiguousarray(STORED[tag](scene())))
    assert_scene(dropped(tmp_path, "a.jpg", stored, exif=oriented(tag), quality=95))


@pytest.mark.parametrize("tag", [0, 9, 700])
def test_an_orientation_that_is_none_is_ignored(tmp_path: Path, tag: int) -> None:
    assert_scene(dropped(tmp_path, "a.png", Image.fromarray(scene()), exif=oriented(tag)))


@pytest.mark.parametrize(
    ("tag", "turns", "axis"),
    [
        (1, 0, None),
        (2, None, 1),
        (3, 2, None),
        (4, None, 0),
        (5, 1, 0),
        (6, 3, None),
        (7, 1, 1),
        (8, 1, None),
    ],
)
def test_heic_is_turned_once(tmp_path: Path, tag: int, turns: int | None, axis: int | None) -> None:
    """A phone says it twice: in the tag, and in properties (ISO/IEC 23008-12) that the HEIC reader obeys:
    quarter turns anticlockwise, then the axis it is mirrored at.
    """
    pillow_heif = pytest.importorskip("pillow_heif")
    pillow_heif.register_heif_opener()
    stored = Image.fromarray(np.ascontiguousarray(STORED[tag](scene())))
    path = dropped(tmp_path, "a.heic", stored, exif=oriented(tag), quality=95)
    content = path.read_bytes()
    # They take the places of two that nobody needs.
    for unneeded, name, value in ((b"colr", b"irot", turns), (b"pixi", b"imir", axis)):
        at = content.index(unneeded)
        length = int.from_bytes(content[at - 4 : at]) - 4
        if value is not None:
            instead = (name + bytes([value])).ljust(length, b"\0")
            content = content[:at] + instead + content[at + length :]
    path.write_bytes(content)
    assert_scene(path)


def test_heic_without_its_reader_names_the_extra(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.heic"
    path.write_bytes(struct.pack(">I4s4sI", 24, b"ftyp", b"heic", 0) + b"mif1heic" + bytes(200))
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    photos._readable_formats.cache_clear()
    try:
        with pytest.raises(UnreadableMedia, match=r"droplight\[heic\]"):
            photos.probe_photo(path)
    finally:
        photos._readable_formats.cache_clear()


@pytest.mark.parametrize("mode", ["CMYK", "L", "P", "1", "RGBA", "LA", "YCbCr"])
def test_every_colour_model_becomes_red_green_blue(tmp_path: Path, mode: str) -> None:
    name = "a.jpg" if mode in ("CMYK", "YCbCr") else "a.png"
    path = dropped(tmp_path, name, Image.fromarray(scene()).convert(mode))
    found = load_photo(path)
    assert found.shape == (64, 128, 3)
    assert found[-2, -2].min() > 240
    assert found[-2, 2].max() < 15
    if mode not in ("L", "1", "LA"):
        assert np.abs(found[2, 2].astype(int) - RED).max() < 60


def test_what_is_clear_becomes_white(tmp_path: Path) -> None:
    clear = np.dstack([np.zeros_like(scene()), np.zeros((64, 128), np.uint8)])
    assert load_photo(dropped(tmp_path, "a.png", Image.fromarray(clear))).min() == 255


@pytest.mark.parametrize("name", ["a.png", "a.tiff"])
def test_sixteen_bits_keep_their_brightness(tmp_path: Path, name: str) -> None:
    steps = np.linspace(0, 65535, 128).astype(np.uint16)
    path = dropped(tmp_path, name, Image.fromarray(np.tile(steps, (64, 1))))
    found = load_photo(path)
    assert found.shape == (64, 128, 3)
    assert np.abs(found[0, :, 0].astype(int) - steps // 257).max() <= 1


def png_of_sixteen_bits(picture: np.ndarray) -> bytes:
    """A PNG of three colours with sixteen bits each, which Pillow can read but not write."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    h, w = picture.shape[:2]
    rows = b"".join(b"\0" + row.tobytes() for row in (picture.astype(">u2") * 257))
    head = struct.pack(">IIBBBBB", w, h, 16, 2, 0, 0, 0)
    packed = chunk(b"IDAT", zlib.compress(rows))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + packed + chunk(b"IEND", b"")


def test_sixteen_bits_in_colour_keep_their_colours(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(png_of_sixteen_bits(scene()))
    assert_scene(path, tolerance=1)


@pytest.mark.parametrize(("name", "mode"), [("a.tiff", "CMYK"), ("b.tiff", "LAB")])
def test_colours_of_print_shops_come_right(tmp_path: Path, name: str, mode: str) -> None:
    assert_scene(dropped(tmp_path, name, Image.fromarray(scene()).convert(mode)), tolerance=3)


def test_of_a_phone_with_two_lenses_the_first_picture_is_taken(tmp_path: Path) -> None:
    second = Image.new("RGB", (128, 64), BLUE)
    path = dropped(
        tmp_path,
        "a.jpg",
        Image.fromarray(scene()),
        format="MPO",
        save_all=True,
        append_images=[second],
        quality=95,
    )
    assert_scene(path)


@pytest.mark.parametrize("size", [(1, 1), (4000, 1), (3, 900)])
def test_a_sliver_of_a_picture_is_still_a_picture(tmp_path: Path, size: tuple[int, int]) -> None:
    path = dropped(tmp_path, "a.png", Image.new("RGB", size, BLUE))
    assert load_photo(path).shape == (size[1], size[0], 3)


def test_fractions_of_light_are_scaled(tmp_path: Path) -> None:
    steps = np.linspace(0, 1, 128).astype(np.float32)
    found = load_photo(dropped(tmp_path, "a.tiff", Image.fromarray(np.tile(steps, (64, 1)))))
    assert np.abs(found[0, :, 1].astype(int) - steps * 255).max() <= 1


@pytest.mark.parametrize("name", ["a.gif", "a.webp", "a.png"])
def test_of_a_moving_picture_the_first_is_taken(tmp_path: Path, name: str) -> None:
    first, second = Image.fromarray(scene()), Image.new("RGB", (128, 64), BLUE)
    path = dropped(tmp_path, name, first, save_all=True, append_images=[second], lossless=True)
    assert_scene(path)


def test_the_array_can_be_written_to(tmp_path: Path) -> None:
    found = load_photo(dropped(tmp_path, "a.png", Image.fromarray(scene())))
    found[0, 0] = 7
    assert found[0, 0, 0] == 7


@pytest.mark.parametrize("size", [(50_000, 50_000), (12_000, 10_000), (100_001, 1_000)])
def test_a_huge_picture_is_refused_by_its_header(tmp_path: Path, size: tuple[int, int]) -> None:
    path = tmp_path / "bomb.png"
    path.write_bytes(png_header(*size))
    assert "100 megapixels" in refusal(path)
    with pytest.raises(UnreadableMedia, match="megapixels"):
        load_photo(path)


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp", "a.tif"])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.8])
def test_a_cut_photo_is_refused(tmp_path: Path, name: str, share: float) -> None:
    noisy = np.random.default_rng(1).integers(0, 255, (200, 300, 3)).astype(np.uint8)
    path = dropped(tmp_path, name, Image.fromarray(noisy))
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    assert "a." in refusal(path)


def test_text_sound_and_nothing_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(b"")
    assert "is empty" in refusal(path)
    path.write_bytes(b"not a photo\n" * 90)
    assert "does not hold a photo" in refusal(path)


@pytest.mark.filterwarnings("ignore:Corrupt EXIF")
def test_a_broken_tag_block_does_not_spoil_the_picture(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    Image.fromarray(scene()).save(
        buffer, "JPEG", quality=95, exif=b"Exif\0\0II*\0\xff\xff\xff\xff" + b"\xff" * 40
    )
    path = tmp_path / "a.jpg"
    path.write_bytes(buffer.getvalue())
    assert_scene(path)
    assert probe(path, "").time_source == "file_time"


def test_the_review_copy_is_upright_small_and_without_tags(tmp_path: Path) -> None:
    stored = Image.fromarray(np.ascontiguousarray(STORED[6](scene())))
    path = dropped(tmp_path, "a.jpg", stored, exif=oriented(6), quality=95)
    write_review_photo(path, tmp_path / "b.jpg", max_side=32)
    with Image.open(tmp_path / "b.jpg") as copy:
        assert copy.format == "JPEG"
        assert copy.size == (32, 16)
        assert not copy.getexif()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.jpg", "b.jpg"]
