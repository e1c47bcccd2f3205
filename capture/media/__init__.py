"""The only place that opens audio and image files: in a process apart, with limits on time and memory."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from capture.identity import printable_name, sha256_of
from capture.media.apart import decoders
from capture.media.kinds import AUDIO_SUFFIXES, PHOTO_SUFFIXES, SAMPLE_RATE, Pixels, Samples
from capture.media.unreadable import COPY_AGAIN, UnreadableMedia
from capture.moments import Moment, file_moment, name_moment
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
    "start_decoder",
    "write_review_audio",
    "write_review_photo",
]


def start_decoder() -> None:
    """Have the process that decodes ready before the first file."""
    decoders.start()


def load_photo(path: Path) -> Pixels:
    """The photo upright, height x width x red-green-blue, 0 to 255.

    Raises:
        UnreadableMedia: it is damaged, larger than 100 megapixels, or not a photo.
    """
    (reply,) = decoders.run("photo", path)
    return np.frombuffer(reply.data, np.uint8).reshape(reply.words["shape"])


def load_audio(path: Path) -> Samples:
    """The whole sound of a file, -1 to 1, one channel, 16,000 samples a second.

    Raises:
        UnreadableMedia: it cannot be read to its end.
    """
    return np.concatenate(list(audio_blocks(path, 30.0)))


def audio_blocks(path: Path, block_s: float) -> Iterator[Samples]:
    """The sound of a file in pieces of ``block_s`` seconds, the last one shorter; like :func:`load_audio`.

    Memory stays that of a few blocks however long the file is.
    """
    for reply in decoders.run("sound", path, {"block_s": block_s}):
        yield np.frombuffer(reply.data, np.float32)


def write_review_audio(src: Path, dst: Path) -> None:
    """Write the sound as AAC in an MP4 file, which every browser plays and can seek in.

    Raises:
        UnreadableMedia: ``src`` cannot be read to its end; ``dst`` is not written.
    """
    _written("review sound", src, dst, {})


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
    _written("review photo", src, dst, {"max_side": max_side, "box": box})


def _written(job: str, src: Path, dst: Path, words: dict[str, object]) -> None:
    try:
        for _ in decoders.run(job, src, {**words, "target": str(dst)}):
            pass
    finally:
        dst.with_name(f".{dst.name}.part").unlink(missing_ok=True)  # of a process that fell


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
    sound = suffix in AUDIO_SUFFIXES
    (reply,) = decoders.run("probe sound" if sound else "probe photo", path)
    length: float | None = reply.words.get("length_s")
    tagged = _moment(reply.words["taken"])
    source: TimeSource = "container" if sound else "exif"
    named = name_moment(name)
    if tagged is None:
        source = "file_time" if named is None else "file_name"
    moment = tagged or named or file_moment(stat.st_mtime, length or 0.0)
    return Capture(
        sha256=sha256_of(path),
        kind="audio" if sound else "photo",
        original_name=name,
        folder=printable_name(folder),
        size=stat.st_size,
        captured_at=moment.at,
        time_source=source,
        zone_known=moment.zone_known,
        duration_s=length,
        width=reply.words.get("width"),
        height=reply.words.get("height"),
    )


def _moment(said: list[Any] | None) -> Moment | None:
    return None if said is None else Moment(datetime.fromisoformat(said[0]), bool(said[1]))
