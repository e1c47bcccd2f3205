"""Which words of the vocabulary stand where in a text."""

from itertools import pairwise

import pytest

from models.vocabulary import load_vocabulary
from pipelines.notes.lexicon import Lexicon
from pipelines.notes.numbers import find_numbers


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return Lexicon(load_vocabulary())


def names(lexicon: Lexicon, text: str, kind: str) -> list[tuple[str, str]]:
    """(words, identifier) of one kind, numbers taken out as the notes stage does."""
    taken = [(n.start, n.end) for n in find_numbers(text)]
    return [
        (text[term.start : term.end], label.name)
        for term in lexicon.find(text, taken)
        for label in term.labels
        if label.kind == kind
    ]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("left front rotor", "brake_rotor"),
        ("both rotors", "brake_rotor"),
        ("tie rod ends", "tie_rod_end"),
        ("lower ball joint", "ball_joint"),
        ("Cross member", "cross_member"),
        ("the CV BOOT", "cv_boot"),
        ("high side pressure", "ac_high_side"),
        ("driver’s side brake hose", "brake_hose"),
        ("left front pad's outer", "brake_pad"),
        ("the rotor's scored", "brake_rotor"),
    ],
)
def test_parts_by_name(lexicon: Lexicon, text: str, part: str) -> None:
    assert [name for _, name in names(lexicon, text, "component")] == [part]


@pytest.mark.parametrize(
    ("heard", "part"),
    [
        ("outer tyrant", "tie_rod_end"),
        ("bald joint", "ball_joint"),
        ("either arm", "idler_arm"),
        ("that man arm", "pitman_arm"),
        ("hug bearing", "hub_bearing"),
        ("staring wheel", "steering_wheel"),
    ],
)
def test_parts_by_what_a_recogniser_writes(lexicon: Lexicon, heard: str, part: str) -> None:
    taken = lexicon.find(heard, [])
    found = [
        (label.name, term.weight) for term in taken for label in term.labels if label.kind == "component"
    ]
    assert [name for name, _ in found] == [part]
    assert all(0.5 < weight < 1 for _, weight in found)  # never as sure as the word itself


def test_a_part_that_only_sounds_alike_is_less_sure(lexicon: Lexicon) -> None:
    (term,) = [t for t in lexicon.find("the alternater is noisy", []) if t.labels[0].kind == "component"]
    assert term.labels[0].name == "alternator"
    assert term.weight < 1


@pytest.mark.parametrize(
    "text",
    [
        "we went to the store for some coffee this morning",
        "it is raining again and the bay door is open",
        "let me write that on the sheet",
        "I am going home at five",
    ],
)
def test_everyday_speech_names_no_part(lexicon: Lexicon, text: str) -> None:
    assert names(lexicon, text, "component") == []


def test_the_longest_name_wins(lexicon: Lexicon) -> None:
    assert names(lexicon, "control arm bushing", "component") == [
        ("control arm bushing", "control_arm_bushing")
    ]
    assert names(lexicon, "thickness variation", "measure") == [
        ("thickness variation", "thickness_variation")
    ]
    assert names(lexicon, "out of adjustment", "condition") == [("out of adjustment", "out_of_adjustment")]


def test_a_name_with_a_number_in_it_stays_a_name(lexicon: Lexicon) -> None:
    assert names(lexicon, "axle two left tire", "place") == [("axle two", "axle_2"), ("left", "left")]


def test_words_of_a_number_are_no_names(lexicon: Lexicon) -> None:
    text = "half an inch"
    assert lexicon.find(text, [(0, len(text))]) == []


def test_a_word_with_two_meanings_keeps_both(lexicon: Lexicon) -> None:
    (term,) = lexicon.find("inner", [])
    assert {(label.axis, label.name) for label in term.labels} >= {("face", "inner"), ("spot", "inside")}


def test_terms_stand_in_order_and_do_not_overlap(lexicon: Lexicon) -> None:
    text = "Left front outer brake pad, thickness six millimeters, uneven wear, replace it. Right front same."
    terms = lexicon.find(text, [(n.start, n.end) for n in find_numbers(text)])
    assert len(terms) >= 8
    assert all(one.end <= other.start for one, other in pairwise(terms))
