"""When something was recorded, as far as tags and file names tell."""

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone
from typing import NamedTuple

from models.capture import local_zone_time

_FIRST_YEAR, _LAST_YEAR = 1990, 2100  # clocks that were never set say 1904, 1970 or 1980

_EXIF_TIME = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)")
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)")
_NAME_TIME = re.compile(
    r"(?<!\d)((?:19|20)\d\d)[-_.]?(\d\d)[-_.]?(\d\d)"  # date
    r"(?:T|[-_. ]|\sat\s)?"
    r"(\d\d)[-_.:h]?(\d\d)[-_.:m]?(\d\d)"  # time
    r"(?:[.,]?\d{3})?(Z|[+-]\d\d:?\d\d)?(?!\d)"
)


class Moment(NamedTuple):
    """A time, and whether its source named a zone (else this computer's was assumed)."""

    at: datetime
    zone_known: bool


def _offset(text: str) -> timezone | None:
    found = _OFFSET.fullmatch(text)
    if found is None or int(found[2]) > 15 or int(found[3]) > 59:
        return None
    size = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-size if found[1] == "-" else size)


def _moment(parts: tuple[str, ...], zone: timezone | None) -> Moment | None:
    year, month, day, hour, minute, second = (int(part) for part in parts)
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        return None
    try:
        plain = datetime(year, month, day, hour, minute, second, tzinfo=zone)
    except ValueError:
        return None
    return Moment(local_zone_time(plain), zone is not None)


def exif_moment(original: object, offset: object) -> Moment | None:
    """The time of a photo's ``DateTimeOriginal`` and ``OffsetTimeOriginal`` tags.

    Real cameras leave either blank (spaces between the colons, zeros), so anything but a full time is no time
    and anything but a full offset is no zone.
    """
    found = _EXIF_TIME.fullmatch(str(original or "").strip("\0 "))
    if found is None:
        return None
    return _moment(found.groups(), _offset(str(offset or "").strip("\0 ")))


def container_moment(tags: Mapping[str, str]) -> Moment | None:
    """The time that an audio container says it was made.

    ``creation_time`` is a full time in MP4, 3GP and Matroska; in a broadcast WAV it is the time of day and
    ``date`` the day.
    """
    lower = {key.lower(): value.strip() for key, value in tags.items()}
    made, day = lower.get("creation_time", ""), lower.get("date", "")
    if re.fullmatch(r"\d\d:\d\d:\d\d", made) and re.fullmatch(r"\d{4}-\d\d-\d\d", day):
        made = f"{day}T{made}"
    if not re.match(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d", made):
        return None
    try:
        at = datetime.fromisoformat(made)
    except ValueError:
        return None
    if not _FIRST_YEAR <= at.year <= _LAST_YEAR:
        return None
    return Moment(local_zone_time(at), at.tzinfo is not None)


def name_moment(name: str) -> Moment | None:
    """The time in a file name: ``20261120T081503``, ``2026-11-20 08.15.03``, ``REC_20261120_081503`` ..."""
    for found in _NAME_TIME.finditer(name):
        *parts, suffix = found.groups()
        zone = UTC if suffix == "Z" else _offset(suffix or "")
        if moment := _moment(tuple(parts), zone):
            return moment
    return None


def file_moment(mtime: float, length_s: float) -> Moment:
    """The file's modification time less the length of its sound (seconds)."""
    return Moment(datetime.fromtimestamp(mtime - length_s, UTC).astimezone(), True)
