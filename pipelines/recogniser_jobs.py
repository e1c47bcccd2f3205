"""The jobs of the processes that hear and read: models load once a process, with its first job."""

from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np

from capture.apart.serve import Job
from capture.apart.wire import Reply, Words
from pipelines.speech.activity import FRAME, RATE

Data = bytes | bytearray | memoryview


def jobs(kind: str, folder: str = "", threads: str = "1", language: str = "en") -> Mapping[str, Job]:
    """The jobs by name.

    Args:
        kind: ``speech`` or ``displays``.
        folder: of the speech model.
        threads: processor threads for speech.
        language: two-letter code of the spoken language.
    """
    return _speech(Path(folder), int(threads), language) if kind == "speech" else _displays()


def _speech(folder: Path, threads: int, language: str) -> Mapping[str, Job]:
    from pipelines.speech.listener import WhisperListener

    listener = WhisperListener(folder, threads, language)

    def detect(words: Words, data: Data) -> Iterator[Reply]:
        yield Reply({}, listener.detect(np.frombuffer(data, np.float32)).data.cast("B"))

    def hear(words: Words, data: Data) -> Iterator[Reply]:
        yield Reply({"heard": listener.hear(np.frombuffer(data, np.float32)).model_dump_json()})

    def decoder(words: Words, data: Data) -> Iterator[Reply]:
        yield Reply({"decoder": listener.decoder.model_dump_json()})

    def ready(words: Words, data: Data) -> Iterator[Reply]:
        silence = np.zeros(RATE, np.float32)
        listener.detect(silence[: RATE // FRAME * FRAME])
        listener.hear(silence)
        yield Reply({})

    return {"detect": detect, "hear": hear, "decoder": decoder, "ready": ready}


def _displays() -> Mapping[str, Job]:
    from pipelines.displays import read_codes, read_display, read_print

    def display(words: Words, data: Data) -> Iterator[Reply]:
        pixels = np.frombuffer(data, np.uint8).reshape(words["shape"])
        yield Reply({"reading": read_display(pixels, words["capture"]).model_dump_json()})

    def printed(words: Words, data: Data) -> Iterator[Reply]:
        yield Reply({"lines": read_print(np.frombuffer(data, np.uint8).reshape(words["shape"]))})

    def codes(words: Words, data: Data) -> Iterator[Reply]:
        seen = read_codes(np.frombuffer(data, np.uint8).reshape(words["shape"]))
        yield Reply({"codes": [code.model_dump(mode="json") for code in seen]})

    return {"display": display, "print": printed, "codes": codes}
