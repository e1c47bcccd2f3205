"""Work that is waited for only so long."""

import threading
import time

import pytest

from pipelines.deadline import StageFailed, within


def test_the_result_comes_back() -> None:
    assert within(5, lambda: 42, "counting") == 42


def test_work_that_hangs_is_given_up_in_time() -> None:
    let_go = threading.Event()
    began = time.monotonic()
    try:
        with pytest.raises(StageFailed, match=r"transcribing note\.wav.*did not answer.*kept"):
            within(0.2, lambda: let_go.wait(20), "transcribing note.wav")
    finally:
        let_go.set()
    assert time.monotonic() - began < 5


def test_what_went_wrong_is_one_sentence_and_keeps_its_cause() -> None:
    def fail() -> None:
        raise RuntimeError("the decoder broke")

    with pytest.raises(StageFailed, match=r"note\.wav: the decoder broke\. The file is kept") as raised:
        within(5, fail, "transcribing note.wav")
    assert isinstance(raised.value.__cause__, RuntimeError)


def test_an_error_without_words_is_named() -> None:
    def fail() -> None:
        raise KeyError

    with pytest.raises(StageFailed, match="KeyError"):
        within(5, fail, "transcribing note.wav")


def test_no_memory_is_said_so() -> None:
    def fail() -> None:
        raise MemoryError

    with pytest.raises(StageFailed, match=r"not enough memory.*note\.wav.*close other programs"):
        within(5, fail, "transcribing note.wav")


def test_a_wish_to_stop_is_not_swallowed() -> None:
    def stop() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        within(5, stop, "transcribing note.wav")
