"""Sound to transcript, with recognisers that misbehave."""

import gc
import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest

from models.transcript import Transcript
from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes
from pipelines.speech.activity import RATE, Samples
from pipelines.speech.listener import HeardWindow
from pipelines.speech.transcribe import transcribe
from tests.doubles import STYLES, Scripted, echoing, heard, inventing, repeating, sound

PAD = "Left front outer pad, six millimeters."


def hear(listener: Scripted, seconds: float = 5.0, speech: bool = True) -> Transcript:
    samples = sound(seconds, [(0.5, seconds - 0.5)] if speech else [])
    return transcribe([samples], "a" * 64, listener)


def test_what_was_said_is_kept_as_decoded() -> None:
    made = hear(Scripted([PAD]))
    (window,) = made.windows
    assert [h.text for h in window.hypotheses] == [PAD, PAD]
    assert {h.style for h in window.hypotheses} == {"words", "digits"}
    assert sum(h.weight for h in window.hypotheses) == pytest.approx(1)
    assert (made.capture, made.duration_s, window.doubts) == ("a" * 64, 5.0, ())
    assert made.decoder.model == "scripted"


def test_words_point_into_the_text_at_times_of_the_recording() -> None:
    samples = sound(30, [(0.3, 7.0), (7.6, 14.0), (14.6, 29.5)])
    made = transcribe([samples], "a" * 64, Scripted([PAD]))
    assert len(made.windows) >= 3
    for window in made.windows:
        for hypothesis in window.hypotheses:
            words = [hypothesis.text[w.start : w.end] for w in hypothesis.words]
            assert words == hypothesis.text.split()
            assert hypothesis.words[0].start_s == pytest.approx(window.start_s)


def test_silence_is_never_decoded() -> None:
    listener = Scripted([PAD])
    made = hear(listener, 12.0, speech=False)
    assert listener.windows == []
    assert [w.hypotheses for w in made.windows] == [()] * len(made.windows)
    assert made.duration_s == 12.0
    assert read_notes(made, load_vocabulary()).findings == ()


@pytest.mark.parametrize(
    ("no_speech", "score", "kept"), [(0.0, -0.1, ["Two."] * 2), (0.0, -0.8, []), (0.4, -0.1, [])]
)
def test_a_blip_as_short_as_a_word_counts_where_the_decoder_is_sure(
    no_speech: float, score: float, kept: list[str]
) -> None:
    listener = Scripted(["Two."], no_speech=no_speech, score=score)
    (window,) = transcribe([sound(1.0, [(0.4, 0.5)])], "a" * 64, listener).windows
    assert [h.text for h in window.hypotheses] == kept
    assert window.no_speech == (no_speech if kept else 1.0)


def test_only_the_windows_with_speech_are_decoded() -> None:
    listener = Scripted([PAD])
    made = transcribe([sound(40, [(2, 5)])], "a" * 64, listener)
    assert len(listener.windows) == 1
    assert sum(1 for w in made.windows if w.hypotheses) == 1
    assert made.windows[-1].end_s == 40


@pytest.mark.parametrize(
    ("listener", "words"),
    [
        (echoing(), "word list"),
        (repeating(), "repeated itself"),
        (inventing(), "could not be understood"),
        (Scripted(["Blower motor, not leaking."], no_speech=0.14, score=-0.94), "could not be understood"),
        (Scripted(["no " * 50]), "repeated itself"),
    ],
)
def test_what_a_recogniser_makes_of_noise_is_doubted_not_believed(listener: Scripted, words: str) -> None:
    made = hear(listener)
    (window,) = made.windows
    assert listener.windows != []
    assert window.hypotheses == ()
    assert any(words in doubt for doubt in window.doubts)
    said = read_notes(made, load_vocabulary())
    assert said.findings == ()
    assert any(words in sentence for sentence in said.attention)


@pytest.mark.parametrize(
    "said",
    [
        "Left front. Left rear. Right front. Right rear.",
        "Outer six, inner six. Outer six, inner six.",
        "No play, no play. Ball joint, no play.",
        "6, 6, 6 millimeters",
        "Right front outer pad, seven and a half millimeters. Upper ball joint, twenty thousandths.",
    ],
)
def test_ordinary_repetition_is_believed(said: str) -> None:
    (window,) = hear(Scripted([said])).windows
    assert [h.text for h in window.hypotheses] == [said, said]
    assert window.doubts == ()


@pytest.mark.parametrize(
    "said",
    [
        "Left front outer pad, six and a half millimeters. Inner, five millimeters.",
        "Left front outer pad six and a half, inner pad five.",
    ],
)
def test_a_reading_that_happens_to_stand_in_the_prompt_is_believed(said: str) -> None:
    (window,) = hear(Scripted([said])).windows
    assert [h.text for h in window.hypotheses] == [said, said]


def test_a_sure_hypothesis_is_kept_though_the_detector_of_silence_doubts_it() -> None:
    (window,) = hear(Scripted([PAD], no_speech=0.9, score=-0.3)).windows
    assert len(window.hypotheses) == 2


class OneStyleLoops(Scripted):
    """Loops with one prompt, and hears with the other."""

    def hear(self, samples: Samples) -> HeardWindow:
        loop = heard("left front " * 40, "words")
        return HeardWindow(no_speech=0.1, hypotheses=(loop, heard(PAD, "digits")))


def test_one_prompt_that_loops_leaves_the_other() -> None:
    (window,) = hear(OneStyleLoops()).windows
    assert [(h.text, h.style, h.weight) for h in window.hypotheses] == [(PAD, "digits", 1.0)]


class Ranked(Scripted):
    """Several hypotheses of one prompt; only the best is aligned, as the decoder does it."""

    def hear(self, samples: Samples) -> HeardWindow:
        texts = [
            ("Left front outer pad, six millimeters.", -0.1),
            ("Left front outer pad, five millimeters.", -0.4),
        ]
        rows = [heard(text, score=score, aligned=k == 0) for k, (text, score) in enumerate(texts)]
        return HeardWindow(no_speech=0.0, hypotheses=(heard(PAD, "digits"), *rows))


def test_each_prompt_has_an_equal_say_and_better_scores_weigh_more() -> None:
    (window,) = hear(Ranked()).windows
    shares = {(h.style, h.text): h.weight for h in window.hypotheses}
    assert shares["digits", PAD] == pytest.approx(0.5)
    six, five = shares["words", PAD], shares["words", PAD.replace("six", "five")]
    assert six + five == pytest.approx(0.5)
    assert six > five > 0
    assert [h.weight for h in window.hypotheses] == sorted(shares.values(), reverse=True)


def test_a_hypothesis_without_times_borrows_those_of_the_best() -> None:
    (window,) = hear(Ranked()).windows
    borrowed = next(h for h in window.hypotheses if "five" in h.text)
    assert [borrowed.text[w.start : w.end] for w in borrowed.words] == borrowed.text.split()
    times = [(w.start_s, w.end_s) for w in borrowed.words]
    assert times == sorted(times)
    assert times == [(k * 0.25, (k + 1) * 0.25) for k in range(6)]


def test_an_empty_answer_is_no_hypothesis_and_no_doubt() -> None:
    (window,) = hear(Scripted(["  "])).windows
    assert (window.hypotheses, window.doubts) == ((), ())


def test_a_recording_is_heard_while_it_is_read() -> None:
    listener = Scripted([PAD])
    heard_when: list[int] = []

    def recording() -> Iterator[Samples]:
        for _ in range(8):
            heard_when.append(len(listener.windows))
            yield sound(15, [(1, 5), (8, 14)])

    made = transcribe(recording(), "a" * 64, listener)
    assert made.duration_s == 120
    assert heard_when[-1] >= 5  # most windows were decoded before the last block was asked for
    assert max(listener.windows) <= 15 * RATE


class Talkative(Scripted):
    """Four hypotheses of thirty words for each prompt, as the decoder gives them where somebody talks on."""

    def hear(self, samples: Samples) -> HeardWindow:
        self.windows.append(len(samples))
        rows = []
        for style in STYLES:
            for rank in range(4):
                said = " ".join(f"w{len(self.windows)}x{k}x{rank * (k % 5)}" for k in range(30))
                rows.append(heard(said, style, score=-0.1 - rank / 10, aligned=rank == 0))
        return HeardWindow(no_speech=0.0, hypotheses=tuple(rows))


def test_a_long_note_takes_little_memory() -> None:
    def recording(windows: int) -> Iterator[Samples]:
        block = sound(10.0, [(0.5, 9.0)])
        yield from (block for _ in range(windows))

    def held(windows: int) -> int:
        gc.collect()
        before = tracemalloc.get_traced_memory()[0]
        made = transcribe(recording(windows), "a" * 64, Talkative())
        gc.collect()
        words = sum(len(h.words) for w in made.windows for h in w.hypotheses)
        assert words >= 200 * (windows - 1)
        return tracemalloc.get_traced_memory()[0] - before

    tracemalloc.start()
    try:
        held(5)
        short, long = held(20), held(120)
    finally:
        tracemalloc.stop()
    assert (long - short) / 100 < 80_000  # bytes a window: thirty minutes take 15 MB


def test_no_sound_at_all() -> None:
    made = transcribe([np.zeros(0, np.float32)], "a" * 64, Scripted())
    assert (made.duration_s, made.windows) == (0.0, ())
