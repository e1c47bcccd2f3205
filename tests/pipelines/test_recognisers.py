"""Recognisers in processes apart: a fall costs one file its turn, and no thread or process stays behind."""

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from capture.apart import Helper, JobFailed
from capture.ingest import ingest, scan
from models.record import Record
from models.store import Store
from pipelines.deadline import Patience, StageFailed, within
from pipelines.order import advance, unfinished
from pipelines.recognisers import FarListener, FarReader, Recogniser, RecogniserFell
from pipelines.speech.activity import FRAME
from pipelines.workshop import Workshop
from tests.capture.material import NOW
from tests.doubles import Scripted, sound, workshop, write_note, write_photo
from tests.soak.fake_recogniser import reading, sentence


@pytest.fixture
def control(tmp_path: Path) -> Path:
    folder = tmp_path / "control"
    folder.mkdir()
    (folder / "model.bin").touch()
    return folder


@pytest.fixture
def hears(control: Path) -> Iterator[Recogniser]:
    helper = Helper("tests.soak.fake_recogniser", ("speech", str(control)))
    yield Recogniser(helper)
    helper.close()


@pytest.fixture
def reads(control: Path) -> Iterator[Recogniser]:
    helper = Helper("tests.soak.fake_recogniser", ("displays", str(control)))
    yield Recogniser(helper)
    helper.close()


def test_what_is_heard_far_away_is_what_is_heard_here(hears: Recogniser) -> None:
    samples = sound(2.0, [(0.5, 1.5)])
    padded = np.pad(samples, (0, -len(samples) % FRAME))
    far, here = FarListener(hears), Scripted([sentence(samples.data.cast("B"))])
    assert np.array_equal(far.detect(padded), here.detect(padded))
    assert far.hear(samples) == here.hear(samples)
    assert far.hear(samples[::2]) != here.hear(samples)
    assert far.decoder == here.decoder


def test_what_is_read_far_away_is_what_is_read_here(reads: Recogniser) -> None:
    far = FarReader(reads)
    for shade in range(12):
        pixels = np.full((4, 5, 3), shade, np.uint8)
        assert far.read_display(pixels, "a") == reading(pixels.tobytes(), "a")
    assert far.read_print(pixels) == [("UNIT PLATE 417", 0.9)]


@pytest.mark.parametrize(
    ("fall", "error", "words"),
    [
        ("crash", RecogniserFell, "crashed"),
        ("killed", RecogniserFell, "ended from outside"),
        ("swell", MemoryError, None),
        ("fail", Exception, "the decoder broke"),
    ],
)
def test_each_fall_has_its_words_and_the_next_question_its_answer(
    hears: Recogniser, control: Path, fall: str, error: type[Exception], words: str | None
) -> None:
    far, samples = FarListener(hears), sound(1.0, [(0.2, 0.8)])
    (control / fall).touch()
    with pytest.raises(error, match=words):
        far.hear(samples)
    assert far.hear(samples).hypotheses


def test_one_that_hangs_is_ended_and_its_thread_too(hears: Recogniser, control: Path) -> None:
    far, samples = FarListener(hears), sound(1.0, [(0.2, 0.8)])
    far.hear(samples)
    (control / "hang").touch()
    with pytest.raises(StageFailed, match="did not answer"):
        within(0.5, lambda: far.hear(samples), "transcribing a.wav", hears.stop)
    end = time.monotonic() + 5
    while any(t.name == "transcribing a.wav" for t in threading.enumerate()) and time.monotonic() < end:
        time.sleep(0.02)
    assert not any(t.name == "transcribing a.wav" for t in threading.enumerate())
    assert far.hear(samples).hypotheses


def test_a_listener_made_ready_has_its_model_loaded(hears: Recogniser, control: Path) -> None:
    far, samples = FarListener(hears), sound(1.0, [(0.2, 0.8)])
    far.ready()
    (control / "model.bin").unlink()
    assert far.hear(samples).hypotheses


def test_a_listener_that_cannot_be_made_ready_says_why_and_is_tried_again(
    hears: Recogniser, control: Path
) -> None:
    far, samples = FarListener(hears), sound(1.0, [(0.2, 0.8)])
    (control / "model.bin").unlink()
    with pytest.raises(JobFailed, match=r"Unable to open file 'model\.bin'"):
        far.ready()
    (control / "model.bin").touch()
    assert far.hear(samples).hypotheses


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


def test_what_failed_is_left_alone_for_longer_and_longer() -> None:
    clock, tried = Clock(), []
    patience = Patience(first_s=60, longest_s=500, clock=clock)

    def fail() -> None:
        tried.append(clock.now)
        raise RuntimeError("it broke")

    for second in range(0, 2000, 10):
        clock.now = float(second)
        with pytest.raises(StageFailed, match=r"a\.wav: it broke"):
            patience.within(("a", "transcript"), 5, fail, "transcribing a.wav", lambda: None)
    assert tried == [0, 60, 300, 800, 1300, 1800]
    assert patience.next_try_s() == 2300 - 1990
    assert patience.within(("b", "transcript"), 5, lambda: 1, "transcribing b.wav", lambda: None) == 1


def test_what_went_well_at_last_is_forgotten() -> None:
    clock = Clock()
    patience = Patience(first_s=60, clock=clock)

    def fail() -> None:
        raise RuntimeError("it broke")

    for work, good in ((fail, False), (lambda: None, True), (fail, False)):
        try:
            patience.within(("a", "x"), 5, work, "reading a", lambda: None)
            assert good
        except StageFailed:
            assert not good
        clock.now += 61
    assert patience.next_try_s() == 0  # 60 s after the last failure and not 240


def _shop(home: Path, hears: Recogniser, reads: Recogniser, patience: Patience) -> Workshop:
    from dataclasses import replace

    reader = FarReader(reads)
    shop = workshop(home, FarListener(hears), reader.read_display, read_print=reader.read_print)
    return replace(shop, patience=patience, stop_listener=hears.stop, stop_reader=reads.stop)


def test_a_file_on_which_the_recogniser_falls_costs_the_others_nothing(
    tmp_path: Path, hears: Recogniser, reads: Recogniser, control: Path
) -> None:
    home, inbox, clock = tmp_path / "home", tmp_path / "inbox", Clock()
    home.mkdir()
    shop = _shop(home, hears, reads, Patience(first_s=60, clock=clock))
    for n in range(3):
        write_note(inbox / "417" / f"20261120T08150{n}.wav", salt=n + 1)
    write_photo(inbox / "417" / "20261120T081510.jpg", shade=3)
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    taken = [ingest(path, inbox, store, home, NOW) for path in scan(inbox)]
    names = {c.sha256: c.original_name for c in store.captures()}
    (control / "crash").touch()
    for capture in taken:
        inspection = advance(store, capture.sha256, shop)  # type: ignore[union-attr]
    assert not (control / "crash").exists()
    draft = store.draft(inspection or "")
    assert isinstance(draft, Record)
    assert (
        "Failed transcribing 20261120T081500.wav: the recogniser crashed on it. The file is kept."
        in draft.notices
    )
    assert [names[sha] for sha in unfinished(store, shop)] == ["20261120T081500.wav"]
    clock.now = 61
    advance(store, unfinished(store, shop)[0], shop)
    assert unfinished(store, shop) == []
    draft = store.draft(inspection or "")
    assert isinstance(draft, Record)
    assert not any("crashed" in notice for notice in draft.notices)
    store.close()


def test_a_model_folder_that_is_gone_is_said_and_used_again_when_it_is_back(
    tmp_path: Path, hears: Recogniser, reads: Recogniser, control: Path
) -> None:
    far, samples = FarListener(hears), sound(1.0, [(0.2, 0.8)])
    (control / "model.bin").unlink()
    with pytest.raises(StageFailed, match=r"Failed transcribing a\.wav: Unable to open file 'model\.bin'"):
        within(20, lambda: far.hear(samples), "transcribing a.wav")
    (control / "model.bin").touch()
    assert far.hear(samples).hypotheses
