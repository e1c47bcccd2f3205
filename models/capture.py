"""What was dropped into the inbox."""

from datetime import datetime
from typing import Literal

from pydantic import AwareDatetime

from models.frozen import Frozen

CaptureKind = Literal["audio", "photo"]
TimeSource = Literal["exif", "container", "file_name", "file_time"]


class Capture(Frozen):
    """One file that was taken in, known by its content.

    Attributes:
        sha256: hexadecimal digest of the file's bytes; its identity.
        kind: audio or photo.
        original_name: the name it was dropped under, without folders.
        folder: name of the sub-folder of the inbox it lay in, empty when none.
        size: bytes.
        captured_at: when the recording began or the picture was taken.
        time_source: where that time comes from.
        zone_known: False when the source gave a local time without a zone and this computer's was assumed.
        duration_s: length of an audio file in seconds.
        width: pixels of an upright photo.
        height: pixels of an upright photo.
    """

    sha256: str
    kind: CaptureKind
    original_name: str
    folder: str = ""
    size: int
    captured_at: AwareDatetime
    time_source: TimeSource
    zone_known: bool
    duration_s: float | None = None
    width: int | None = None
    height: int | None = None


class Rejection(Frozen):
    """A file that could not be taken in, kept beside its reason.

    Attributes:
        name: the name it was dropped under.
        reason: a sentence that says what is wrong and what to do.
        at: when it was rejected.
    """

    name: str
    reason: str
    at: AwareDatetime


def local_zone_time(moment: datetime) -> datetime:
    """A time without a zone, read as this computer's local time."""
    return moment.astimezone() if moment.tzinfo is None else moment
