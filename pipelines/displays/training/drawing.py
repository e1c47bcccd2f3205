"""Examples drawn by processes of their own, into memory that they share with the trainer.

The processes are started afresh rather than forked, know nothing of the trainer's libraries, keep to one
thread each, may run on every core, and hand finished examples over without copying or pickling them. A forked
process would inherit the trainer's threads, and whatever core a threading library has tied them to.
"""

import ctypes
import multiprocessing
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pipelines.displays.alphabet import CHARACTERS, SHEET_SIZE, STRIP_HEIGHT, STRIP_WIDTH, WORD_SIZE

MOST_CHARACTERS = 16
# What keeps a process to one thread, and keeps its freed memory for the next picture.
_QUIET = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "OMP_PROC_BIND": "false",
    "MALLOC_MMAP_THRESHOLD_": "1073741824",
    "MALLOC_TRIM_THRESHOLD_": "1073741824",
    "MALLOC_TOP_PAD_": "67108864",
    "NUMPY_MADVISE_HUGEPAGE": "0",
}

Example = tuple[Any, ...]


@dataclass(frozen=True)
class Layout:
    """How the examples of one network lie in memory.

    Attributes:
        fields: shape and type of each array of an example.
        piece: examples that are drawn and handed over together.
    """

    fields: tuple[tuple[tuple[int, ...], str], ...]
    piece: int


_STRIP = Layout(
    (((STRIP_HEIGHT, STRIP_WIDTH, 3), "u1"), ((), "i8"), ((MOST_CHARACTERS,), "i8"), ((), "i8")), 64
)
LAYOUTS = {
    "locate": Layout(
        (((512, 512, 3), "u1"), ((4, 4, 2), "f4"), ((128, 128), "u1"), ((128, 128), "u1")),
        12,
    ),
    "read": _STRIP,
    "again": _STRIP,
    "unit": Layout((((*SHEET_SIZE, 3), "u1"), ((SHEET_SIZE[0] // 4, SHEET_SIZE[1] // 4), "u1")), 12),
    "word": Layout((((*WORD_SIZE, 3), "u1"), ((), "i8")), 64),
}


def _strips(rng: Generator) -> Iterator[Example]:
    from pipelines.displays.training.lessons import strip_lessons

    while True:
        for picture, width, text in strip_lessons(rng):
            if len(text) > MOST_CHARACTERS:
                continue
            codes = np.zeros(MOST_CHARACTERS, np.int64)
            codes[: len(text)] = [CHARACTERS.index(c) + 1 for c in text]
            yield picture, np.int64(width), codes, np.int64(len(text))


def _one_by_one(draw: Callable[[Generator], Example], rng: Generator) -> Iterator[Example]:
    while True:
        yield draw(rng)


def _scenes(rng: Generator) -> Iterator[Example]:
    from pipelines.displays.training.lessons import scene_lesson

    while True:
        scene = scene_lesson(rng)
        yield scene.picture, scene.quads, scene.owner, scene.window


def examples(part: str, rng: Generator) -> Iterator[Example]:
    """An endless stream of examples for one network, each a tuple of arrays as ``LAYOUTS`` says."""
    from pipelines.displays.training.unit_lessons import sheet_lesson, word_lesson

    if part in ("read", "again"):
        return _strips(rng)
    if part == "locate":
        return _scenes(rng)
    return _one_by_one(sheet_lesson if part == "unit" else word_lesson, rng)


def _views(layout: Layout, memory: list[Any]) -> list[NDArray[Any]]:
    """The shared memory as arrays: slots x piece x shape of the field."""
    return [
        np.frombuffer(block, dtype).reshape(-1, layout.piece, *shape)
        for block, (shape, dtype) in zip(memory, layout.fields, strict=True)
    ]


def _work(part: str, seed: tuple[int, int], memory: list[Any], free: Any, full: Any) -> None:
    """Draw pieces until the process is ended."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, range(os.cpu_count() or 1))
    import cv2

    cv2.setNumThreads(1)
    arrays = _views(LAYOUTS[part], memory)
    stream = examples(part, np.random.default_rng(seed))
    while True:
        slot = free.get()
        begun = time.process_time(), time.monotonic()
        for i in range(LAYOUTS[part].piece):
            for array, value in zip(arrays, next(stream), strict=True):
                array[slot, i] = value
        full.put((slot, time.process_time() - begun[0], time.monotonic() - begun[1]))


class Drawing:
    """Processes that draw for one network."""

    def __init__(self, part: str, seed: int, workers: int) -> None:
        """Start them.

        Args:
            part: which network.
            seed: of the examples; each process adds its number.
            workers: how many processes.
        """
        self._layout = LAYOUTS[part]
        context = multiprocessing.get_context("spawn")
        slots = 3 * workers + 8
        sizes = [int(np.prod(shape)) * np.dtype(dtype).itemsize for shape, dtype in self._layout.fields]
        memory = [context.RawArray(ctypes.c_uint8, slots * self._layout.piece * size) for size in sizes]
        self._arrays = _views(self._layout, memory)
        self._free, self._full = context.SimpleQueue(), context.SimpleQueue()
        for slot in range(slots):
            self._free.put(slot)
        self.busy_s = self.drawing_s = 0.0
        before = {name: os.environ.get(name) for name in _QUIET}
        os.environ.update(_QUIET)
        try:
            self._processes = [
                context.Process(
                    target=_work, args=(part, (seed, n), memory, self._free, self._full), daemon=True
                )
                for n in range(workers)
            ]
            for process in self._processes:
                process.start()
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value

    def ready(self) -> bool:
        """Whether a piece can be had without waiting."""
        return not self._full.empty()

    def take(self, count: int) -> list[NDArray[Any]]:
        """The next ``count`` examples (a multiple of the piece), each field as one array of its own."""
        pieces = []
        for _ in range(count // self._layout.piece):
            slot, busy, drawing = self._full.get()
            self.busy_s, self.drawing_s = self.busy_s + busy, self.drawing_s + drawing
            pieces.append([array[slot].copy() for array in self._arrays])
            self._free.put(slot)
        return [np.concatenate(parts) for parts in zip(*pieces, strict=True)]

    def close(self) -> None:
        """End the processes."""
        for process in self._processes:
            process.terminate()
        for process in self._processes:
            process.join()
