"""What each stage makes of one capture, made once and kept."""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from pydantic import TypeAdapter

from capture.media import audio_blocks, load_photo
from models.capture import Capture
from models.display import DisplayReading
from models.labels import SeenText
from models.notes import SpokenNotes
from models.transcript import Transcript
from pipelines import displays, notes, speech
from pipelines.notes.read import read_notes
from pipelines.speech.transcribe import transcribe
from pipelines.workshop import Artefacts, Workshop

Find = Callable[[], Path]
"""Finds the original; only asked when something is still to be made of it."""

_BLOCK_S = 30.0
_PHOTO_DEADLINE_S = 60.0
_NOTES_DEADLINE_S = 300.0
# Texture gives short or doubtful lines; a plate gives long clear ones.
_CLEAR_PRINT = 0.7
_LEAST_PRINT = 6
# Digits of a number that an odometer may show.
_LEAST_ODOMETER = 4
_LEAST_DEADLINE_S = 120.0


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _transcript_version(shop: Workshop) -> str:
    s = shop.settings.speech
    return f"{speech.VERSION}-{_hash(f'{s.model}|{s.language}')}"


def _notes_version(transcript: Transcript, shop: Workshop) -> str:
    return f"{notes.VERSION}-{_hash(transcript.model_dump_json() + shop.vocabulary_json)}"


def is_done(capture: Capture, kept: Artefacts, shop: Workshop) -> bool:
    """Whether all that the stages make of a capture is kept already."""
    sha256 = capture.sha256
    if capture.kind == "audio":
        heard = kept.artefact(sha256, "transcript", _transcript_version(shop))
        if heard is None:
            return False
        version = _notes_version(Transcript.model_validate_json(heard), shop)
        return kept.artefact(sha256, "notes", version) is not None
    shown = kept.artefact(sha256, "display", displays.VERSION)
    if shown is None:
        return False
    if not _may_show_texts(DisplayReading.model_validate_json(shown)):
        return True
    return kept.artefact(sha256, "texts", displays.VERSION) is not None


def transcript_of(capture: Capture, find: Find, kept: Artefacts, shop: Workshop) -> Transcript:
    """What was heard in an audio file.

    Raises:
        StageFailed: the recogniser hung, ran out of memory or failed.
    """
    version = _transcript_version(shop)
    if found := kept.artefact(capture.sha256, "transcript", version):
        return Transcript.model_validate_json(found)
    deadline = max(_LEAST_DEADLINE_S, (capture.duration_s or 0.0) * shop.deadline_s)
    made = shop.patience.within(
        (capture.sha256, "transcript"),
        deadline,
        lambda: transcribe(audio_blocks(find(), _BLOCK_S), capture.sha256, shop.listener),
        f"transcribing {capture.original_name}",
        shop.stop_listener,
    )
    kept.put_artefact(capture.sha256, "transcript", version, made.model_dump_json())
    return made


def notes_of(capture: Capture, find: Find, kept: Artefacts, shop: Workshop) -> SpokenNotes:
    """What an audio file says.

    Raises:
        StageFailed: as for `transcript_of`, or its text could not be read.
    """
    transcript = transcript_of(capture, find, kept, shop)
    version = _notes_version(transcript, shop)
    if found := kept.artefact(capture.sha256, "notes", version):
        return SpokenNotes.model_validate_json(found)
    made = shop.patience.within(
        (capture.sha256, "notes"),
        _NOTES_DEADLINE_S,
        lambda: read_notes(transcript, shop.vocabulary),
        f"reading what was said in {capture.original_name}",
        lambda: None,
    )
    kept.put_artefact(capture.sha256, "notes", version, made.model_dump_json())
    return made


def display_of(capture: Capture, find: Find, kept: Artefacts, shop: Workshop) -> DisplayReading:
    """What a photo shows.

    Raises:
        StageFailed: the reader hung, ran out of memory or failed.
    """
    version = displays.VERSION
    if found := kept.artefact(capture.sha256, "display", version):
        return DisplayReading.model_validate_json(found)
    made = shop.patience.within(
        (capture.sha256, "display"),
        _PHOTO_DEADLINE_S,
        lambda: shop.read_display(load_photo(find()), capture.sha256),
        f"reading {capture.original_name}",
        shop.stop_reader,
    )
    kept.put_artefact(capture.sha256, "display", version, made.model_dump_json())
    return made


_T = TypeVar("_T")
_TEXTS = TypeAdapter(tuple[SeenText, ...])


def texts_of(
    capture: Capture, find: Find, kept: Artefacts, shop: Workshop, display: DisplayReading
) -> tuple[SeenText, ...]:
    """The bar codes and printed lines of a photo that may show a plate, a label, a tag or an odometer.

    A photo with a sure reading is a gauge and nothing else; print round doubtful digits is that of a gauge.

    Raises:
        StageFailed: a reader hung or failed.
    """
    if not _may_show_texts(display):
        return ()
    if found := kept.artefact(capture.sha256, "texts", displays.VERSION):
        return _TEXTS.validate_json(found)
    texts: list[SeenText] = []
    if (read_codes := shop.read_codes) is not None:
        texts += _from_photo(capture, shop, "codes", lambda: read_codes(load_photo(find())))
    if (read_print := shop.read_print) is not None and _may_show_print(display):
        lines = _from_photo(capture, shop, "print", lambda: read_print(load_photo(find())))
        texts += [
            SeenText(text=text, source="print", confidence=confidence)
            for text, confidence in lines
            if confidence >= _CLEAR_PRINT and len(text) >= _LEAST_PRINT
        ]
    kept.put_artefact(capture.sha256, "texts", displays.VERSION, _TEXTS.dump_json(tuple(texts)).decode())
    return tuple(texts)


def _from_photo(capture: Capture, shop: Workshop, stage: str, read: Callable[[], _T]) -> _T:
    """What a reader makes of a photo before its deadline."""
    return shop.patience.within(
        (capture.sha256, stage),
        _PHOTO_DEADLINE_S,
        read,
        f"reading {capture.original_name}",
        shop.stop_reader,
    )


def _may_show_texts(display: DisplayReading) -> bool:
    return _may_show_print(display) or display.reason is not None


def _may_show_print(display: DisplayReading) -> bool:
    return display.text is None or _may_be_odometer(display)


def _may_be_odometer(display: DisplayReading) -> bool:
    """Whether a display shows a long number and nobody saw its unit."""
    return display.unit is None and sum(c.isdigit() for c in display.text or "") >= _LEAST_ODOMETER
