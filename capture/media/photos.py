"""Photos: decoding to upright pixels."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from capture.containers import is_heic
from capture.identity import printable_name
from capture.media.kinds import Pixels
from capture.media.unreadable import COPY_AGAIN, UnreadableMedia
from capture.moments import Moment, exif_moment

MOST_PIXELS = 100_000_000

# A phone's JPEG with more than one picture (MPO) is opened as JPEG.
_FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
_EXIF_IFD, _DATE_TIME_ORIGINAL, _OFFSET_TIME_ORIGINAL, _ORIENTATION = 0x8769, 0x9003, 0x9011, 0x0112
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}

# Pillow looks at the stated size before it decodes: it warns above this one and refuses above twice of it.
# Its warnings (that one, and about broken tags) would reach the person as noise; the size is checked below.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.filterwarnings("ignore", module=r"PIL\.")


def load_photo(path: Path) -> Pixels:
    """The photo upright, height x width x red-green-blue, 0 to 255.

    Raises:
        UnreadableMedia: it is damaged, larger than 100 megapixels, or not a photo.
    """
    with path.open("rb") as file, _photo(file, printable_name(path.name)) as image:
        return np.array(_upright(image, printable_name(path.name)), np.uint8)


def write_review_photo(
    src: Path, dst: Path, max_side: int = 2000, box: tuple[int, int, int, int] | None = None
) -> None:
    """Write the photo upright as a JPEG of at most ``max_side`` pixels a side, without its tags.

    Args:
        src: the photo.
        dst: the JPEG.
        max_side: pixels.
        box: only this part: x, y, width, height in pixels of the upright photo, inside it.

    Raises:
        UnreadableMedia: ``src`` cannot be read; ``dst`` is not written.
    """
    pixels = load_photo(src)
    if box is not None:
        x, y, width, height = box
        pixels = pixels[y : y + height, x : x + width]
    image = Image.fromarray(pixels)
    image.thumbnail((max_side, max_side), Image.Resampling.LANCZOS)
    part = dst.with_name(f".{dst.name}.part")
    try:
        image.save(part, format="JPEG", quality=88)
        part.replace(dst)
    finally:
        part.unlink(missing_ok=True)


def probe_photo(path: Path) -> tuple[int, int, Moment | None]:
    """Decode fully: width and height upright, and when its tags say it was taken.

    Raises:
        UnreadableMedia: it cannot be read.
    """
    name = printable_name(path.name)
    with path.open("rb") as file, _photo(file, name) as image:
        taken = _taken(image)
        width, height = _upright(image, name).size
    return width, height, taken


@cache
def _readable_formats() -> tuple[str, ...]:
    try:
        import pillow_heif
    except ImportError:
        return _FORMATS
    pillow_heif.register_heif_opener()
    return (*_FORMATS, "HEIF")


@contextmanager
def _photo(file: BinaryIO, name: str) -> Iterator[Image.Image]:
    head = file.read(16)
    file.seek(0)
    formats = _readable_formats()
    if is_heic(head) and "HEIF" not in formats:
        raise UnreadableMedia(
            f"{name} is an HEIC photo, which needs an extra part: install it with "
            "pip install 'droplight[heic]', or set the phone to save JPEG."
        )
    try:
        image = Image.open(file, formats=formats)
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise _too_large(name) from None
    except MemoryError:
        raise
    except Exception:  # the readers raise whatever their parsing meets
        raise UnreadableMedia(
            f"{name} does not hold a photo that can be read, whatever its name says: "
            "take it again or convert it."
        ) from None
    with image:
        if image.width * image.height > MOST_PIXELS:
            raise _too_large(name)
        yield image


def _too_large(name: str) -> UnreadableMedia:
    return UnreadableMedia(
        f"{name} is larger than {MOST_PIXELS // 1_000_000} megapixels: save it smaller and drop it again."
    )


def _taken(image: Image.Image) -> Moment | None:
    try:
        tags = image.getexif().get_ifd(_EXIF_IFD)
        return exif_moment(tags.get(_DATE_TIME_ORIGINAL), tags.get(_OFFSET_TIME_ORIGINAL))
    except Exception:  # a broken tag block does not spoil the picture
        return None


def _upright(image: Image.Image, name: str) -> Image.Image:
    try:
        image.load()
        return _eight_bit_rgb(_turned(image))
    except MemoryError:
        raise
    except Exception:  # the readers raise whatever their parsing meets
        raise UnreadableMedia(f"{name} is damaged or ends early: {COPY_AGAIN}.") from None


def _turned(image: Image.Image) -> Image.Image:
    try:
        # HEIC comes upright from its reader, which then says so in the tag.
        turn = _TURNS.get(image.getexif().get(_ORIENTATION, 1))
    except Exception:  # a broken tag block does not spoil the picture
        turn = None
    return image if turn is None else image.transpose(turn)


def _eight_bit_rgb(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I") or image.mode == "F":
        return _from_deep_grey(np.asarray(image, np.float64))
    if image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info:
        clear = image.convert("RGBA")
        return Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear).convert("RGB")
    return image.convert("RGB")


def _from_deep_grey(grey: NDArray[np.float64]) -> Image.Image:
    grey = np.nan_to_num(grey)
    top = max(float(grey.max()), 0.0)
    white = next((full for full in (1.0, 255.0, 65535.0) if top <= full), top)
    if white == 1.0 and np.all(grey == np.floor(grey)):
        white = 65535.0  # whole numbers: nearly black, not a picture of fractions
    return Image.fromarray(np.clip(grey * (255.0 / white), 0, 255).astype(np.uint8)).convert("RGB")
