"""Photos of the samples: a drawn gauge, written as a phone would write it."""

import io
from datetime import datetime
from pathlib import Path

import numpy as np
from PIL import Image

from pipelines.displays.training.render import View, render_scene
from samples.script import Photo

_EXIF_IFD = 0x8769
_DATE_TIME = 0x0132
_DATE_TIME_ORIGINAL = 0x9003
_JPEG_QUALITY = 88


def write_photo(path: Path, photo: Photo, taken: datetime, rng: np.random.Generator) -> None:
    """Draw the gauge and write it as a JPEG whose EXIF data say when it was taken.

    Args:
        path: the file to write.
        photo: what the picture shows.
        taken: local time; whole seconds are kept.
        rng: decides what the script leaves open; the same seed gives the same picture.
    """
    view = None
    if photo.turn is not None:
        middle = (float(rng.uniform(0.42, 0.58)), float(rng.uniform(0.42, 0.58)))
        view = View(photo.turn, float(rng.uniform(0.42, 0.56)), photo.lean, middle)
    picture = render_scene(photo.text, photo.unit, photo.style, rng, view=view, harm=photo.harm)
    exif = Image.Exif()
    moment = taken.strftime("%Y:%m:%d %H:%M:%S")
    exif[_DATE_TIME] = moment
    exif.get_ifd(_EXIF_IFD)[_DATE_TIME_ORIGINAL] = moment
    data = io.BytesIO()
    Image.fromarray(picture).save(data, "JPEG", quality=_JPEG_QUALITY, exif=exif)
    path.write_bytes(data.getvalue())
