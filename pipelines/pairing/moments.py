"""What was said and what was shown, placed in time, and which may belong together."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from models.capture import Capture
from models.display import DisplayReading
from models.frozen import Frozen
from models.notes import SpokenFinding, SpokenNotes
from models.record import Reading
from models.units import UNITS, unit
from pipelines.pairing.agreement import Shown, comparable


class PairingRules(Frozen):
    """How near in time a photo and a spoken reading must be (seconds).

    The clocks of camera and recorder are taken to agree to within the window, unless several photos prove
    another difference; a camera that is minutes off without such proof leaves its photos without words, and
    a notice says so.

    Attributes:
        window_s: a photo further away belongs to no reading.
        close_s: a photo within this of a reading that it contradicts is held against it, when the values are
            of like size or one is a usual slip of the other.
        at_once_s: a photo within this is held against the reading in any case.
        like_size: largest share by which values of like size differ.
        cue_after_s: the word "photo" speaks of the reading before it when it follows within this.
        photo_before_s: an announced photo may have been taken so long before the word.
        photo_after_s: an announced photo that is not taken within this never came.
    """

    window_s: float = 90.0
    close_s: float = 30.0
    at_once_s: float = 8.0
    like_size: float = 0.6
    cue_after_s: float = 12.0
    photo_before_s: float = 15.0
    photo_after_s: float = 60.0


class Said(NamedTuple):
    """A spoken finding in time."""

    capture: str
    spoken: SpokenFinding
    start: datetime
    end: datetime


class Photo(NamedTuple):
    """A display reading with a number, in time."""

    display: DisplayReading
    shown: Shown
    name: str
    at: datetime


def held_until(spoken: SpokenFinding, notes: SpokenNotes, rules: PairingRules) -> float:
    """Until when a reading is spoken of: to the word "photo" that follows it, when nothing lies between.

    Args:
        spoken: one finding of the notes.
        notes: all of them, with the moments at which a photo was announced.
        rules: how soon after the words "photo" must follow.

    Returns:
        Seconds in the sound.
    """
    end = spoken.end_s
    for cue in notes.photo_cues:
        near = spoken.end_s <= cue <= spoken.end_s + rules.cue_after_s
        if near and not any(spoken.end_s < f.end_s <= cue for f in notes.findings):
            end = max(end, cue)
    return end


def said_in_time(
    captures: Mapping[str, Capture], notes: Sequence[SpokenNotes], rules: PairingRules
) -> list[Said]:
    """Every spoken finding with its moments, in the order of the notes."""
    found = []
    for note in notes:
        begin = captures[note.capture].captured_at
        for spoken in note.findings:
            until = held_until(spoken, note, rules)
            start, end = (begin + timedelta(seconds=s) for s in (spoken.start_s, until))
            found.append(Said(note.capture, spoken, start, end))
    return found


def photos_in_time(captures: Mapping[str, Capture], displays: Sequence[DisplayReading]) -> list[Photo]:
    """Every display that shows a number, with the moment of its photo."""
    found = []
    for display in displays:
        if display.value is not None:
            code = display.unit if display.unit in UNITS else None
            capture = captures[display.capture]
            shown = Shown(display.value, code)
            found.append(Photo(display, shown, capture.original_name, capture.captured_at))
    return found


def seconds_apart(said: Said, photo: Photo) -> float:
    """Seconds between a photo and the words; 0 while they were being said."""
    return max((said.start - photo.at).total_seconds(), (photo.at - said.end).total_seconds(), 0.0)


def fitting(said: Said, photo: Photo, window_s: float) -> Reading | None:
    """The spoken reading, when time and unit allow that the photo shows it."""
    reading = said.spoken.reading
    if reading is None or not comparable(reading, photo.shown.unit):
        return None
    return reading if seconds_apart(said, photo) <= window_s else None


def is_difference(reading: Reading) -> bool:
    """Whether the reading is a difference that a display can hardly show: it shows the two temperatures."""
    return reading.measure == "temperature_split"


def ago(said: Said, photo: Photo) -> str:
    """When the photo was taken, as seen from the words."""
    seconds = round(seconds_apart(said, photo))
    if seconds == 0:
        return "at the same time"
    return f"{seconds} s {'later' if photo.at > said.end else 'earlier'}"


def in_words(value: object, code: str | None) -> str:
    """A number and its unit; without one, says so."""
    if code is None:
        return f"{value} (unit not seen)"
    words = unit(code).words
    return f"{value}{'' if words == '°' else ' '}{words}"
