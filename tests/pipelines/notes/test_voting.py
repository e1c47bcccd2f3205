"""Several hypotheses of one window: what most weight says is kept, what was close is asked."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.transcript import Transcript, Window
from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes
from tests.pipelines.notes.saying import DECODER, line, notes, transcript

PAD = "Left front outer pad, {} millimeters."


def test_the_same_in_words_and_digits_is_one_reading() -> None:
    said = notes(
        [("Left lower ball joint, 30,000ths.", 0.5), ("Left lower ball joint, thirty thousandths.", 0.5)]
    )
    (finding,) = said.findings
    assert line(finding) == "ball_joint left lower | play 0.030 in"
    assert finding.confidence > 0.9
    assert finding.attention == ()


@pytest.mark.parametrize(
    ("one", "other", "values"),
    [
        (
            "Cooling system, thirteen and a half psi.",
            "Cooling system, thirty and a half psi.",
            {Decimal("13.5"), Decimal("30.5")},
        ),
        (PAD.format("six"), PAD.format("five"), {Decimal(6), Decimal(5)}),
    ],
)
def test_a_hesitation_is_asked_with_both_values(one: str, other: str, values: set[Decimal]) -> None:
    (finding,) = notes([(one, 0.52), (other, 0.48)]).findings
    assert finding.reading is not None
    assert {finding.reading.value, *(a.value for a in finding.alternatives)} == values
    assert finding.confidence < 0.6
    assert any("Not heard clearly" in sentence for sentence in finding.attention)


def test_what_else_it_could_be_is_said_with_the_words_of_its_unit() -> None:
    said = notes(
        [
            ("Left front rotor runout, point oh oh two.", 0.6),
            ("Left front rotor runout, point oh oh nine.", 0.4),
        ]
    )
    (finding,) = said.findings
    assert any("0.009 in." in sentence for sentence in finding.attention)


@pytest.mark.parametrize(("second", "spots"), [(1.0, ["point_1", "point_2"]), (0.5, [None, None])])
def test_a_doubtful_second_thickness_of_a_rotor_makes_no_point_of_the_first(
    second: float, spots: list[str | None]
) -> None:
    rotor = "Left front rotor, 27.90 millimeters"
    said = notes(
        [(f"{rotor}, 27.85.", second), (f"{rotor}.", 1 - second)] if second < 1 else f"{rotor}, 27.85."
    )
    assert [finding.position.spot for finding in said.findings] == spots
    assert all(finding.attention for finding in said.findings) == (second < 1)


def test_a_side_heard_two_ways_is_asked() -> None:
    (finding,) = notes([("Left outer pad, 6 mm.", 0.5), ("Right outer pad, 6 mm.", 0.5)]).findings
    assert any("right outer" in sentence for sentence in finding.attention)


def test_a_condition_heard_two_ways_is_asked() -> None:
    said = notes([("Left outer tie rod end is torn.", 0.5), ("Left outer tie rod end is worn.", 0.5)])
    (finding,) = said.findings
    assert any("worn" in sentence for sentence in finding.attention)


def test_the_lighter_side_loses_but_is_offered() -> None:
    (finding,) = notes([(PAD.format("six"), 0.8), (PAD.format("five"), 0.2)]).findings
    assert line(finding) == "brake_pad left front outer | thickness 6 mm"
    assert [(a.value, a.unit) for a in finding.alternatives] == [(Decimal(5), "mm")]
    assert 0.1 < finding.alternatives[0].weight < 0.3


def test_an_impossible_value_loses_against_a_possible_one() -> None:
    (finding,) = notes(
        [("Left front inner pad, 70 mm.", 0.55), ("Left front inner pad, 7 mm.", 0.45)]
    ).findings
    assert line(finding) == "brake_pad left front inner | thickness 7 mm"
    assert Decimal(70) in {a.value for a in finding.alternatives}


def test_what_few_hypotheses_say_is_taken_for_a_slip() -> None:
    assert notes([("Thank you.", 0.9), (PAD.format("six"), 0.1)]).findings == ()


@given(st.lists(st.integers(1, 24), min_size=1, max_size=5), st.data())
def test_confidence_is_a_share(values: list[int], data: st.DataObject) -> None:
    raw = data.draw(st.lists(st.integers(1, 9), min_size=len(values), max_size=len(values)))
    weights = sorted((w / sum(raw) for w in raw), reverse=True)
    said = notes([(PAD.format(v), w) for v, w in zip(values, weights, strict=True)])
    for finding in said.findings:
        assert finding.reading is not None
        assert int(finding.reading.value) in values
        assert 0 < finding.confidence <= 1
        if len(set(values)) == 1:
            assert finding.confidence > 0.9


def transcript_with_a_doubt(hypotheses: bool) -> Transcript:
    said = transcript(PAD.format("six")).windows[0]
    window = Window(
        start_s=12.0,
        end_s=20.0,
        no_speech=0.2,
        hypotheses=said.hypotheses if hypotheses else (),
        doubts=("The decoder repeated itself here: listen to this part.",),
    )
    return Transcript(capture="c" * 64, duration_s=20.0, windows=(window,), decoder=DECODER)


def test_a_doubt_about_a_window_is_a_doubt_about_its_findings() -> None:
    (finding,) = read_notes(transcript_with_a_doubt(hypotheses=True), load_vocabulary()).findings
    assert any("repeated itself" in sentence for sentence in finding.attention)


def test_a_doubt_about_a_window_without_findings_is_said_of_the_note() -> None:
    said = read_notes(transcript_with_a_doubt(hypotheses=False), load_vocabulary())
    assert said.findings == ()
    assert [sentence for sentence in said.attention if "12 s" in sentence and "repeated itself" in sentence]


def test_nothing_heard_gives_nothing() -> None:
    silent = Window(start_s=0.0, end_s=9.0, no_speech=1.0, hypotheses=())
    said = read_notes(
        Transcript(capture="c" * 64, duration_s=9.0, windows=(silent,), decoder=DECODER), load_vocabulary()
    )
    assert (said.findings, said.attention, said.unit, said.ended) == ((), (), None, False)


def test_a_number_without_part_or_unit_heard_two_ways_is_a_notice() -> None:
    said = notes([("Thirty thousandths.", 0.5), ("Five eighths.", 0.5)])
    assert said.findings == ()
    assert any("hirty thousandths" in sentence for sentence in said.attention)


_PHRASES = """
left|right front|rear axle|outer pad|rotor|wheel hub|tie rod end|cooling system|coolant|tire|rear spring|play
five|five eighths|two ten|a half|thirty thousandths|7/32|12.6|0.03|psi|inches|millimeters|degrees|volts
no|is torn|replace|leaking|same on the right|scratch that|one seventy|minus ten|low side|date code 2319|photo
"""
_PHRASE = st.sampled_from(_PHRASES.replace("\n", "|").strip("|").split("|"))
_SAID = st.lists(_PHRASE, max_size=8).map(", ".join)


@given(st.lists(_SAID, min_size=2, max_size=3))
def test_no_disagreement_stops_the_reading(texts: list[str]) -> None:
    said = notes([(text, 1 / len(texts)) for text in texts])
    assert all(0 <= finding.confidence <= 1 for finding in said.findings)


@given(st.lists(st.text(max_size=40), max_size=3))
def test_no_text_stops_the_reading(texts: list[str]) -> None:
    plain = ["".join(c for c in text if not c.isdigit() or c.isdecimal()) for text in texts]
    said = notes(*plain)
    assert all(0 <= finding.confidence <= 1 for finding in said.findings)
