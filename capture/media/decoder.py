"""The jobs of the process that opens audio and image files."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from capture.apart.serve import Job
from capture.apart.wire import Reply, Words

Data = bytes | bytearray | memoryview


def jobs() -> Mapping[str, Job]:
    """The jobs by name. The libraries load with the first job that needs them."""
    return {
        "probe sound": _probe_sound,
        "probe photo": _probe_photo,
        "sound": _sound,
        "photo": _photo,
        "review sound": _review_sound,
        "review photo": _review_photo,
    }


def _moment(found: Any) -> list[Any] | None:
    return None if found is None else [found.at.isoformat(), found.zone_known]


def _probe_sound(words: Words, _: Data) -> Iterator[Reply]:
    from capture.media.sound import probe_sound

    length, taken = probe_sound(Path(words["path"]))
    yield Reply({"length_s": length, "taken": _moment(taken)})


def _probe_photo(words: Words, _: Data) -> Iterator[Reply]:
    from capture.media.photos import probe_photo

    width, height, taken = probe_photo(Path(words["path"]))
    yield Reply({"width": width, "height": height, "taken": _moment(taken)})


def _sound(words: Words, _: Data) -> Iterator[Reply]:
    from capture.media.sound import audio_blocks

    for block in audio_blocks(Path(words["path"]), words["block_s"]):
        yield Reply({}, block.data.cast("B"))


def _photo(words: Words, _: Data) -> Iterator[Reply]:
    from capture.media.photos import load_photo

    pixels = load_photo(Path(words["path"]))
    yield Reply({"shape": pixels.shape}, pixels.reshape(-1).data)


def _review_sound(words: Words, _: Data) -> Iterator[Reply]:
    from capture.media.sound import write_review_audio

    write_review_audio(Path(words["path"]), Path(words["target"]))
    yield Reply({})


def _review_photo(words: Words, _: Data) -> Iterator[Reply]:
    from capture.media.photos import write_review_photo

    box = words["box"]
    write_review_photo(
        Path(words["path"]), Path(words["target"]), words["max_side"], tuple(box) if box else None
    )
    yield Reply({})
