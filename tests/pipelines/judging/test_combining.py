"""Suggestions of the shipped rules: when they speak, for which finding, and when they must not."""

import pytest

from models.limits import load_limits
from models.record import Evidence
from models.rules import load_rules
from models.settings import TruckSettings
from pipelines.judging import judge

LEFT = {"side": "left", "axle": "front"}
RIGHT = {"side": "right", "axle": "front"}
ROTOR = (
    "- {id: r, component: brake_rotor, measure: thickness, subject: rotor, more than: 36.50, refinish: 37.0}"
)


@pytest.fixture
def seen(finding):
    """A finding with conditions and without a number."""

    def make(component, *conditions, **place):
        made = finding(component, "play", "1", "mm", **place)
        return made.model_copy(update={"reading": None, "conditions": conditions})

    return make


@pytest.fixture
def suggested():
    def give(findings, on_file=None, **truck):
        judged = judge(findings, on_file or load_limits(), TruckSettings(**truck), load_rules())
        return [[(s.rule, s.action) for s in f.suggestions] for f in judged]

    return give


def heard(finding, text):
    return finding.model_copy(
        update={"evidence": (Evidence(kind="audio", capture="a" * 64, text=text, start_s=0, end_s=1),)}
    )


@pytest.mark.parametrize(
    ("value", "action"),
    [("37.10", "resurface"), ("37.00", "replace"), ("36.80", "replace"), ("36.50", "replace")],
)
def test_a_pulsation_resurfaces_only_what_may_be_resurfaced(finding, seen, limits, suggested, value, action):
    # common practice; the rotor's numbers: 37.0 mm after refinishing, discard at 36.50 mm
    pulsation = seen("brake_rotor", "pulsation", **LEFT)
    rotor = finding("brake_rotor", "thickness", value, "mm", **LEFT)
    found = suggested([pulsation, rotor], limits(ROTOR))
    assert found[1] == [("pulsation-rotors", action)]
    assert found[0] == [("pulsation-pads", "replace"), ("pulsation-rotors", action)]


def test_the_lowest_point_of_the_rotor_decides(finding, seen, limits, suggested):
    points = [
        finding("brake_rotor", "thickness", v, "mm", **LEFT, spot=f"point_{n}")
        for n, v in enumerate(("37.20", "36.90"), start=1)
    ]
    found = suggested([seen("brake_pad", "pulsation", **LEFT), *points], limits(ROTOR))
    assert found[1:] == [[("pulsation-rotors", "replace")]] * 2


def test_both_rotors_and_all_pads_of_the_axle_are_meant_and_no_other(finding, seen, limits, suggested):
    pulsation = seen("brake_rotor", "pulsation", **LEFT)
    pads = [finding("brake_pad", "thickness", "9", "mm", **p, face="outer") for p in (LEFT, RIGHT)]
    rear = finding("brake_pad", "thickness", "9", "mm", side="left", axle="rear", face="outer")
    right = finding("brake_rotor", "thickness", "37.5", "mm", **RIGHT)
    found = suggested([pulsation, *pads, rear, right], limits(ROTOR))
    assert found[1:] == [[("pulsation-pads", "replace")]] * 2 + [[], [("pulsation-rotors", "resurface")]]


def test_a_rotor_that_nobody_measured_gets_no_action(seen, finding, suggested):
    judged = judge([seen("brake_rotor", "pulsation", **LEFT)], load_limits(), TruckSettings(), load_rules())
    (pads, rotors) = judged[0].suggestions
    assert (pads.action, rotors.action) == ("replace", None)
    assert "resurfaced if enough material is left" in rotors.sentence
    assert "was not measured, or no limit on file says it" in rotors.sentence
    unlimited = suggested(
        [seen("brake_pad", "pulsation", **LEFT), finding("brake_rotor", "thickness", "9", "mm", **LEFT)]
    )
    assert unlimited[1] == [("pulsation-rotors", None)]


def test_a_pulsation_of_an_unknown_axle_changes_no_part(finding, seen, suggested):
    pad = finding("brake_pad", "thickness", "9", "mm", **LEFT, face="outer")
    found = suggested([seen("brake_pedal", "pulsation"), pad])
    assert found == [[("pulsation-pads", None), ("pulsation-rotors", None)], []]


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        ("0.001", "sealed", [("sealed-hub-play", "replace")]),
        ("0", "sealed", []),
        ("0.003", "adjustable", []),
        ("0.003", None, [("sealed-hub-play", None)]),
    ],
)
def test_any_play_of_a_sealed_hub(finding, suggested, value, kind, expected):
    hub = finding("hub_bearing", "end_play", value, "[in_i]", **LEFT)
    assert suggested([hub], hub_bearings=kind) == [expected]


def test_a_fact_that_is_not_known_is_named(finding):
    hub = finding("hub_bearing", "end_play", "0.003", "[in_i]", **LEFT)
    (judged,) = judge([hub], load_limits(), TruckSettings(), load_rules())
    assert "not known whether the hub bearings are sealed" in judged.suggestions[0].sentence
    assert "set hub_bearings under truck: in settings.yaml" in judged.suggestions[0].sentence


def test_a_growl_replaces_any_hub(seen, suggested):
    assert suggested([seen("hub_bearing", "noise", **LEFT)]) == [[("hub-growl", "replace")]]
    assert suggested([seen("hub_bearing", "leak", **LEFT)]) == [[]]


@pytest.mark.parametrize(
    ("value", "text", "expected"),
    [
        ("0.026", "ball joint, twenty six thousandths, and it moves the camber.", True),
        ("0.026", "Ball joint, twenty-six thousandths: moves camber!", True),
        ("0.026", "ball joint, twenty six thousandths, does not move the camber", False),
        ("0", "no play, camber moves with the tire", False),
    ],
)
def test_play_that_moves_the_alignment_goes_before_the_limit(finding, value, text, expected):
    joint = heard(finding("ball_joint", "axial_play", value, "[in_i]", side="left", level="lower"), text)
    (judged,) = judge([joint], load_limits(), TruckSettings(), load_rules())
    assert judged.verdict.word in ("near limit", "within limit")
    assert [s.action for s in judged.suggestions] == (["replace"] if expected else [])


JOINT = {"side": "left", "level": "lower"}


@pytest.fixture
def said_of(finding):
    """A ball joint with play, and a second finding with the words given, as (part, place, note)."""

    def give(words, component="ball_joint", capture="a" * 64, **place):
        joint = heard(
            finding("ball_joint", "axial_play", "0.026", "[in_i]", **JOINT), "twenty six thousandths"
        )
        other = heard(finding(component, "play", "1", "mm", **(place or JOINT)), words)
        evidence = other.evidence[0].model_copy(update={"capture": capture})
        other = other.model_copy(
            update={"evidence": (evidence,), "reading": None, "conditions": ("torn",), "id": "other"}
        )
        return judge([joint, other], load_limits(), TruckSettings(), load_rules())

    return give


def test_words_of_another_finding_of_the_same_part_and_place_count(said_of):
    joint, other = said_of("The camber moves when I pry it.")
    assert [s.rule for s in joint.suggestions] == ["play-moves-alignment"]
    assert joint.suggestions[0].action == "replace"
    assert "and the words “The camber moves when I pry it.”" in joint.suggestions[0].sentence
    assert other.suggestions == ()


@pytest.mark.parametrize(
    "other",
    [
        {"component": "tie_rod_end"},
        {"side": "right", "level": "lower"},
        {"side": "left", "level": "upper"},
        {"capture": "b" * 64},
    ],
)
def test_words_of_another_part_place_or_note_do_not(said_of, other):
    assert said_of("The camber moves when I pry it.", **other)[0].suggestions == ()


@pytest.mark.parametrize(
    "words", ["Nothing moves the camber.", "It never moves the toe.", "No camber moves."]
)
def test_a_denial_does_not(said_of, words):
    assert said_of(words)[0].suggestions == ()


def test_a_second_sentence_of_the_finding_itself_counts(finding):
    joint = heard(finding("ball_joint", "axial_play", "0.026", "[in_i]", **JOINT), "twenty six thousandths")
    more = joint.evidence[0].model_copy(update={"text": "The toe moves.", "start_s": 2.0, "end_s": 3.0})
    joint = joint.model_copy(update={"evidence": (*joint.evidence, more)})
    (judged,) = judge([joint], load_limits(), TruckSettings(), load_rules())
    assert [s.action for s in judged.suggestions] == ["replace"]


def test_two_camber_readings_of_one_wheel(finding, suggested):
    joint = finding("ball_joint", "axial_play", "0.026", "[in_i]", side="left", level="lower")
    one, other = (finding("wheel", "camber", v, "deg", **LEFT) for v in ("-0.5", "-1.25"))
    right = finding("wheel", "camber", "-1.25", "deg", **RIGHT)
    assert suggested([joint, one, other])[0] == [("play-and-two-alignments", "replace")]
    assert suggested([joint, one, right])[0] == []
    assert suggested([joint, one, one])[0] == []


def test_what_was_said_to_do_stays(seen):
    said = seen("hub_bearing", "noise", **LEFT).model_copy(update={"action": "monitor"})
    (judged,) = judge([said], load_limits(), TruckSettings(), load_rules())
    assert judged.action == "monitor"
    assert judged.verdict is None and judged.attention == ()
    (suggestion,) = judged.suggestions
    assert suggestion.sentence == (
        "A hub bearing that growls is replaced. It rests on: left front hub bearing, noise."
        " [common practice of the trade, no published source]"
    )
    assert suggestion.because == (said.id,)


def test_judging_again_forgets_what_no_longer_holds(seen):
    growl = seen("hub_bearing", "noise", **LEFT)
    (judged,) = judge([growl], load_limits(), TruckSettings(), load_rules())
    quiet = judged.model_copy(update={"conditions": ("ok",)})
    assert judge([quiet], load_limits(), TruckSettings(), load_rules())[0].suggestions == ()


def test_two_reasons_make_one_suggestion(seen):
    pads = [seen("brake_pad", "pulsation", **p) for p in (LEFT, RIGHT)]
    judged = judge(pads, load_limits(), TruckSettings(), load_rules())
    first = [s for s in judged[0].suggestions if s.rule == "pulsation-pads"]
    assert [s.because for s in first] == [tuple(p.id for p in pads)]
