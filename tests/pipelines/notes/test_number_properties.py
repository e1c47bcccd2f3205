"""What holds for every text: spans point into it, nothing is made up, what was said comes back exactly."""

import re
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pipelines.notes.numbers import find_numbers
from tests.pipelines.notes.spoken import words

_NUMBER_WORDS = """
zero nought naught oh o one two three four five six seven eight nine ten eleven twelve thirteen fourteen
fifteen sixteen seventeen eighteen nineteen twenty thirty forty fourty fifty sixty seventy eighty ninety
hundred half halves quarter quarters fourth fourths forths eighth eighths eights sixteenth sixteenths a an
inch thou thousandth
"""
_OTHER_PIECES = """
thousand thousands thousandths point dot and minus negative below tenths tenth ten-thousandths
to or seconds second psi degrees mm inches mils volts pounds p s i left outer pad . , - – / & % ° ½
0 00 030 3 7 30 32 12.45 .003 0.030 30,000 30,000ths 316ths 7/32 7.30 1-3/4 112,306 29,8 1.2.3 7:30
"""
_SHOP_WORDS = "left front outer pad and the is torn point minus to psi degrees mm hold"
NUMBER_WORDS = frozenset(_NUMBER_WORDS.split())
PIECES = sorted(NUMBER_WORDS) + _OTHER_PIECES.split()
SPEECH = st.lists(st.sampled_from(PIECES), max_size=14).flatmap(
    lambda pieces: st.sampled_from([" ", "", ", ", "-"]).map(lambda joint: joint.join(pieces))
)


def assert_in_place(text: str) -> None:
    at = 0
    for span in find_numbers(text):
        assert at <= span.start < span.end <= len(text)
        assert text[span.start : span.end] == span.text
        assert span.text == span.text.strip()
        at = span.end
        for reading in span.readings:
            assert reading.value.is_finite()
            assert 0 < reading.weight <= 1
            assert reading.low is None or reading.low < reading.value


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "No"])))
@example("İ 30 thou")  # grows when made lower case
@example("٣ mm")
@example("don’t say 6 mm")
def test_offsets_slice_back_on_any_text(text: str) -> None:
    assert_in_place(text)


@pytest.mark.parametrize("text", ["¹", "30 ² left front", "① left front"])
def test_raised_and_circled_digits_are_read_over(text: str) -> None:
    assert_in_place(text)


@given(SPEECH)
def test_offsets_slice_back_on_shop_speech(text: str) -> None:
    assert_in_place(text)


@given(SPEECH)
def test_capitals_change_nothing(text: str) -> None:
    def found(words: str) -> list[tuple[int, int, object]]:
        return [(span.start, span.end, span.readings) for span in find_numbers(words)]

    assert found(text) == found(text.upper())


@given(st.text(alphabet=st.characters(exclude_categories=["Nd", "No", "Nl"])))
def test_no_number_comes_from_text_without_one(text: str) -> None:
    if not NUMBER_WORDS & set(re.findall(r"[^\W\d_]+", text.lower())):
        assert find_numbers(text) == []


@given(st.lists(st.sampled_from(_SHOP_WORDS.split())))
def test_no_number_comes_from_shop_words_alone(pieces: list[str]) -> None:
    assert find_numbers(" ".join(pieces)) == []


def significant(digits: str) -> str:
    """The digits without sign, point, and zeros at the ends."""
    return re.sub(r"\D", "", digits).strip("0")


NUMERAL = st.from_regex(r"[0-9]{1,6}|[0-9]{0,3}\.[0-9]{1,4}|[1-9][0-9]{0,2},[0-9]{3}", fullmatch=True)
BEHIND = st.sampled_from(
    ["", " mm", " psi", " inches", " thousandths", "ths", " volts", " degrees", " seconds", "th"]
)


@given(NUMERAL, BEHIND)
def test_every_digit_of_a_reading_stands_in_the_text(numeral: str, behind: str) -> None:
    for span in find_numbers(numeral + behind):
        given_digits = significant(span.text)
        for reading in span.readings:
            if reading.denominator is None:
                assert significant(f"{reading.value:f}") == given_digits
            else:
                top = reading.value * reading.denominator
                assert top == top.to_integral_value()
                assert f"{top:f}".rstrip("0").rstrip(".") in span.text or str(int(top)) in span.text


@given(
    st.integers(0, 999_999),
    st.sampled_from(["-", " "]),
    st.sampled_from(["", "and"]),
    st.sampled_from(["", " psi", " miles", " volts"]),
)
def test_whole_numbers_come_back_from_words(number: int, hyphen: str, joint: str, behind: str) -> None:
    said = words(number, hyphen=hyphen, joint=joint) + behind
    (span,) = find_numbers(said)
    assert span.text == said
    assert span.readings[0].value == number
    assert span.readings[0].doubt is None


@given(st.integers(0, 9_999_999))
def test_whole_numbers_come_back_from_digits(number: int) -> None:
    for written in (str(number), f"{number:,}"):
        (span,) = find_numbers(written)
        assert Decimal(number) in {reading.value for reading in span.readings}


@given(st.integers(0, 999), st.from_regex(r"[0-9]{1,4}", fullmatch=True), st.sampled_from(["oh", "zero"]))
def test_decimals_come_back_digit_by_digit(whole: int, decimals: str, zero: str) -> None:
    said = " ".join(zero if digit == "0" else words(int(digit)) for digit in decimals)
    (span,) = find_numbers(f"{words(whole)} point {said}")
    assert [f"{reading.value:f}" for reading in span.readings] == [f"{whole}.{decimals}"]


@pytest.mark.parametrize("form", ["thousandths", "thou"])
def test_all_thousandths_said(form: str) -> None:
    wrong = {}
    for count in range(1, 1000):
        best = find_numbers(f"{words(count)} {form}")[0].readings[0]
        if (f"{best.value:f}", best.unit) != (f"0.{count:03}", "[in_i]"):
            wrong[count] = best
    assert wrong == {}


@pytest.mark.parametrize("form", ["{} thousandths", "{} thou", "0.{:03} in", ".{:03} inches", "{},000ths"])
def test_all_thousandths_written(form: str) -> None:
    wrong = {}
    for count in range(1, 1000):
        best = find_numbers(form.format(count))[0].readings[0]
        if (f"{best.value:f}", best.unit) != (f"0.{count:03}", "[in_i]"):
            wrong[count] = best
    assert wrong == {}


NAMES = {
    16: ("sixteenths", "16ths"),
    32: ("thirty-seconds", "thirty seconds", "32nds"),
    64: ("sixty-fourths", "sixty fourths", "64ths"),
}


@pytest.mark.parametrize(("bottom", "name"), [(b, name) for b, names in NAMES.items() for name in names])
def test_all_parts_of_an_inch(bottom: int, name: str) -> None:
    wrong = {}
    for top in range(1, bottom):
        for numerator in (words(top), str(top)):
            said = f"{numerator} {name}"
            spans = find_numbers(said)
            found = {(r.value, r.unit) for span in spans for r in span.readings}
            if [span.text for span in spans] != [said] or (Decimal(top) / bottom, "[in_i]") not in found:
                wrong[said] = found
    assert wrong == {}


@pytest.mark.parametrize("bottom", [16, 32, 64])
def test_all_parts_of_an_inch_written_with_a_stroke(bottom: int) -> None:
    for top in range(1, bottom):
        for written, whole in (
            (f"{top}/{bottom}", 0),
            (f"142 {top}/{bottom}", 142),
            (f"142-{top}/{bottom}", 142),
        ):
            (span,) = find_numbers(written)
            best = span.readings[0]
            assert (best.value, best.unit) == (whole + Decimal(top) / bottom, "[in_i]")


@given(st.integers(1, 300), st.sampled_from([8, 16]), st.data())
def test_whole_and_part_come_back(whole: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    name = {8: "eighths", 16: "sixteenths"}[bottom]
    said = f"{words(whole)} and {words(top)} {name}"
    (span,) = find_numbers(said)
    assert span.readings[0].value == whole + Decimal(top) / bottom
