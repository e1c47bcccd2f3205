"""The only place that opens audio and image files."""

from pathlib import Path

from capture.identity import printable_name, sha256_of
from capture.media.photos import load_photo, probe_photo, write_review_photo
from capture.media.sound import SAMPLE_RATE, audio_blocks, load_audio, probe_sound, write_review_audio
from capture.media.unreadable import COPY_AGAIN, UnreadableMedia
from capture.moments import file_moment, name_moment
from models.capture import Capture, TimeSource

__all__ = [
    "AUDIO_SUFFIXES",
    "PHOTO_SUFFIXES",
    "SAMPLE_RATE",
    "UnreadableMedia",
    "audio_blocks",
    "load_audio",
    "load_photo",
    "probe",
    "write_review_audio",
    "write_review_photo",
]

# fmt: off
AUDIO_SUFFIXES = frozenset({
    ".wav", ".wave", ".flac", ".m4a", ".ogg", ".oga", ".opus", ".mp3", ".amr", ".awb", ".3gp", ".3gpp",
    ".3ga", ".webm", ".weba", ".aac",
})
PHOTO_SUFFIXES = frozenset({
    ".jpg", ".jpeg", ".jpe", ".png", ".heic", ".heif", ".webp", ".tif", ".tiff", ".bmp", ".gif",
})
# fmt: on


def probe(path: Path, folder: str) -> Capture:
    """Prove that a file can be read to its end, and say what it is.

    Args:
        path: the file.
        folder: name of the inbox's sub-folder it lies in, else empty.

    Returns:
        The capture. Its time is that of the photo's EXIF or the sound's container, else one in the file name,
        else the file's modification time (less the length of the sound).

    Raises:
        UnreadableMedia: empty, cut off, damaged, too long or too large, or of a kind that is not read.
        OSError: the file cannot be opened or read just now.
    """
    name, suffix = printable_name(path.name), path.suffix.casefold()
    stat = path.stat()
    if suffix not in AUDIO_SUFFIXES | PHOTO_SUFFIXES:
        raise UnreadableMedia(
            f"{name} is not of a kind that is read: drop sound as m4a, mp3, wav, ogg, flac, amr, 3gp, webm "
            "or aac, photos as jpg, png, heic, webp or tiff."
        )
    if stat.st_size == 0:
        raise UnreadableMedia(f"{name} is empty: {COPY_AGAIN}.")
    width = height = length = None
    if suffix in AUDIO_SUFFIXES:
        length, tagged = probe_sound(path)
        source: TimeSource = "container"
    else:
        width, height, tagged = probe_photo(path)
        source = "exif"
    named = name_moment(name)
    if tagged is None:
        source = "file_time" if named is None else "file_name"
    moment = tagged or named or file_moment(stat.st_mtime, length or 0.0)
    return Capture(
        sha256=sha256_of(path),
        kind="photo" if length is None else "audio",
        original_name=name,
        folder=printable_name(folder),
        size=stat.st_size,
        captured_at=moment.at,
        time_source=source,
        zone_known=moment.zone_known,
        duration_s=length,
        width=width,
        height=height,
    )
