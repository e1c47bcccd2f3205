"""The kinds of file that are read, by the end of their names, and what comes out of them."""

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE = 16_000
"""Samples a second of all sound inside the program."""

Samples = NDArray[np.float32]
Pixels = NDArray[np.uint8]

# fmt: off
AUDIO_SUFFIXES = frozenset({
    ".wav", ".wave", ".flac", ".m4a", ".ogg", ".oga", ".opus", ".mp3", ".amr", ".awb", ".3gp", ".3gpp",
    ".3ga", ".webm", ".weba", ".aac",
})
PHOTO_SUFFIXES = frozenset({
    ".jpg", ".jpeg", ".jpe", ".png", ".heic", ".heif", ".webp", ".tif", ".tiff", ".bmp", ".gif",
})
# fmt: on
