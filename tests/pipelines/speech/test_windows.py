"""A recording is cut into windows that cover all of it, one after another, as it comes in."""

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.speech.activity import FRAME, LONGEST_S, RATE, SHORTEST_S, Samples, stretches
from tests.doubles import Scripted, sound


def blocks_of(samples: Samples, size: int) -> list[Samples]:
    return [samples[at : at + size] for at in range(0, len(samples), size)]


LENGTHS = st.integers(0, 70 * RATE)
TALK = st.lists(st.tuples(st.floats(0, 65), st.floats(0.1, 9)), max_size=8)


@given(LENGTHS, TALK, st.integers(RATE // 3, 31 * RATE))
def test_windows_cover_everything_once(length: int, talk: list[tuple[float, float]], block: int) -> None:
    samples = sound(length / RATE, [(start, start + for_s) for start, for_s in talk])
    made = list(stretches(blocks_of(samples, block), Scripted().detect))
    rebuilt = np.concatenate([w.samples for w in made]) if made else np.zeros(0, np.float32)
    assert np.array_equal(rebuilt, samples)
    at = 0
    for window in made:
        assert round(window.start_s * RATE) == at
        at += len(window.samples)
        assert window.end_s == pytest.approx(at / RATE)
        assert 0 <= window.speech_s <= (len(window.samples) + FRAME) / RATE


@given(LENGTHS, TALK)
def test_windows_are_neither_too_long_nor_too_short(length: int, talk: list[tuple[float, float]]) -> None:
    samples = sound(length / RATE, [(start, start + for_s) for start, for_s in talk])
    lengths = [len(w.samples) / RATE for w in stretches(blocks_of(samples, 30 * RATE), Scripted().detect)]
    assert all(seconds <= LONGEST_S + FRAME / RATE for seconds in lengths)
    assert all(seconds >= SHORTEST_S - FRAME / RATE for seconds in lengths[:-1])


@given(st.integers(1, 40 * RATE), st.lists(st.integers(1, 20 * RATE), min_size=1, max_size=6))
def test_how_the_blocks_are_cut_makes_no_difference(length: int, sizes: list[int]) -> None:
    samples = sound(length / RATE, [(1, 4), (6, 9), (11, 30)])
    cut: list[Samples] = []
    at = 0
    while at < length:
        size = sizes[len(cut) % len(sizes)]
        cut.append(samples[at : at + size])
        at += size
        if len(cut) > 50:
            cut.append(samples[at:])
            break
    whole = [(w.start_s, len(w.samples)) for w in stretches([samples], Scripted().detect)]
    assert [(w.start_s, len(w.samples)) for w in stretches(cut, Scripted().detect)] == whole


@pytest.mark.parametrize("pause_s", [6.8, 8.5, 12.0])
def test_a_cut_lies_in_the_pause(pause_s: float) -> None:
    samples = sound(20, [(0.2, pause_s), (pause_s + 0.6, 19)])
    cut_s = next(iter(stretches([samples], Scripted().detect))).end_s
    assert pause_s - 0.1 <= cut_s <= pause_s + 0.7


def test_a_long_recording_is_read_as_it_is_needed() -> None:
    given_out = 0
    most_ahead = 0.0

    def recording() -> Iterator[Samples]:
        nonlocal given_out
        for _ in range(120):  # ten minutes
            given_out += 1
            yield np.zeros(5 * RATE, np.float32)

    done_s = 0.0
    for window in stretches(recording(), Scripted().detect):
        done_s = window.end_s
        most_ahead = max(most_ahead, given_out * 5 - window.start_s)
    assert done_s == 600
    assert given_out == 120
    assert most_ahead <= 2 * LONGEST_S + 5


def test_nothing_gives_no_window() -> None:
    assert list(stretches([], Scripted().detect)) == []
    assert list(stretches([np.zeros(0, np.float32)], Scripted().detect)) == []


def test_a_single_sample_is_a_window() -> None:
    (window,) = stretches([np.zeros(1, np.float32)], Scripted().detect)
    assert (window.start_s, len(window.samples), window.speech_s) == (0.0, 1, 0.0)
