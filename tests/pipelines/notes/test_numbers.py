"""Readings as they are said.

Source of the forms: published and common shop conventions of spoken readings.
"""

from decimal import Decimal

import pytest

from pipelines.notes.numbers import NumberReading, find_numbers


def readings(phrase: str) -> tuple[NumberReading, ...]:
    """The readings of a phrase that is one number from its first to its last character."""
    spans = find_numbers(phrase)
    assert [span.text for span in spans] == [phrase]
    return spans[0].readings


def first(phrase: str) -> tuple[str, str | None]:
    """The most usual reading, digits exactly as kept."""
    best = readings(phrase)[0]
    return f"{best.value:f}", best.unit


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("thirty thousandths", "0.030", "[in_i]"),
        ("thirty thou", "0.030", "[in_i]"),
        ("half a thou", "0.0005", "[in_i]"),
        ("half of a thousandth", "0.0005", "[in_i]"),
        ("a thou", "0.001", "[in_i]"),
        ("two and a half thou", "0.0025", "[in_i]"),
        ("a thousandth and a half", "0.0015", "[in_i]"),
        ("five hundredths of a millimeter", "0.05", "mm"),
        ("a tenth of a millimeter", "0.1", "mm"),
        ("three tenths of a volt", "0.3", "V"),
        ("nought point three of a millimeter", "0.3", "mm"),
        ("point oh three oh", "0.030", None),
        ("oh point oh oh three", "0.003", None),
        ("point zero three zero", "0.030", None),
        ("one point one two five inches", "1.125", "[in_i]"),
        ("six thirty-seconds", "0.1875", "[in_i]"),
        ("five and three quarter inches", "5.75", "[in_i]"),
        ("two and five eighths", "2.625", None),
        ("two and five eighths inches", "2.625", "[in_i]"),
        ("fifteen p s i", "15", "[psi]"),
        ("twelve point oh five", "12.05", None),
        ("a hundred and five foot pounds", "105", "[ft_i].[lbf_av]"),
        ("four ninety-one and a half thousandths", "0.4915", "[in_i]"),
        ("hundred thousandths", "0.100", "[in_i]"),
        ("one hundred thousandths", "0.100", "[in_i]"),
        ("90 thousands", "0.090", "[in_i]"),
        ("one ninety-five", "195", None),
        ("one oh five", "105", None),
        ("an inch and three quarters", "1.75", "[in_i]"),
        ("thirteen and a half", "13.5", None),
        ("half an inch", "0.5", "[in_i]"),
        ("three quarters of an inch", "0.75", "[in_i]"),
        ("six and a half millimeters", "6.5", "mm"),
        ("one fourteen kilopascals", "114", "kPa"),
        ("four hundred eighty millivolts", "480", "mV"),
        ("three percent", "3", "%"),
        ("one hundred and twelve thousand three hundred and six miles", "112306", "[mi_i]"),
    ],
)
def test_said(said: str, value: str, unit: str | None) -> None:
    assert first(said) == (value, unit)


@pytest.mark.parametrize(
    ("said", "value", "kind"),
    [
        ("sixteen pounds", "16", "pounds"),
        ("one ninety five degrees", "195", "degrees"),
        ("minus two degrees", "-2", "degrees"),
        ("two degrees below zero", "-2", "degrees"),
        ("negative thirty four degrees", "-34", "degrees"),
        ("minus point five degrees", "-0.5", "degrees"),
        ("-2 degrees", "-2", "degrees"),
        ("thirty mil", "30", "mil"),
        ("twelve six", "12.6", "pair"),
        ("twelve oh five", "12.05", "pair"),
    ],
)
def test_words_that_leave_the_unit_open(said: str, value: str, kind: str) -> None:
    best = readings(said)[0]
    assert (f"{best.value:f}", best.unit, best.kind) == (value, None, kind)


def test_a_hold_of_thirty_seconds_is_a_time() -> None:
    (span,) = find_numbers("thirty second hold")
    assert span.text == "thirty second"
    assert [(r.value, r.unit) for r in span.readings] == [(Decimal(30), "s")]


@pytest.mark.parametrize("said", ["seven thirty seconds", "730 seconds", "7.30 seconds"])
def test_parts_of_an_inch_or_a_time_are_both_offered(said: str) -> None:
    found = {(r.value, r.unit) for r in readings(said)}
    assert (Decimal(7) / 32, "[in_i]") in found
    assert any(unit == "s" for _, unit in found)


@pytest.mark.parametrize(
    ("written", "value", "unit"),
    [
        ("30,000ths", "0.030", "[in_i]"),
        ("30000ths", "0.030", "[in_i]"),
        ("30,000's", "0.030", "[in_i]"),
        ("45 thou", "0.045", "[in_i]"),
        ("142 and 316ths", "142.1875", "[in_i]"),
        ("142 and 3/16", "142.1875", "[in_i]"),
        ("1-3-quarter inches", "1.75", "[in_i]"),
        ("1-3/4 inches", "1.75", "[in_i]"),
        ("1-3-4 inches", "1.75", "[in_i]"),
        ("1½ inches", "1.5", "[in_i]"),
        ("3 16ths", "0.1875", "[in_i]"),
        ("112,306", "112306", None),
        ("29,8 mm", "29.8", "mm"),
        ("12.45V", "12.45", "V"),
        ("32psi", "32", "[psi]"),
        ("0.5Ω", "0.5", "Ohm"),
        ("7/32nds", "0.21875", "[in_i]"),
        ("point 030", "0.030", None),
        ("12 point 45 volts", "12.45", "V"),
    ],
)
def test_written_by_a_recogniser(written: str, value: str, unit: str | None) -> None:
    assert first(written) == (value, unit)


@pytest.mark.parametrize("digits", ["0.030", "0.0300", "6.0", "1.250", "13.50", "0.10", "100", "7"])
def test_exactly_the_decimals_given_are_kept(digits: str) -> None:
    assert first(digits) == (digits, None)
    assert first(f"{digits} inches") == (digits, "[in_i]")


def test_a_full_stop_behind_a_number_is_not_part_of_it() -> None:
    assert [span.text for span in find_numbers("Battery is 12.6. Pad is 6.")] == ["12.6", "6"]


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("ten thousandths", {"0.010", "0.0001"}),
        ("ten-thousandths", {"0.010", "0.0001"}),
        ("10 thousandths", {"0.010", "0.0001"}),
        ("10,000ths", {"0.010"}),
        ("two ten-thousandths", {"0.0002", "0.210"}),
        ("three tenths", {"0.3", "0.0003"}),
    ],
)
def test_what_two_trades_read_differently_is_asked(said: str, values: set[str]) -> None:
    found = readings(said)
    assert {f"{r.value:f}" for r in found} == values
    assert all(r.doubt is not None and "ask" in r.doubt for r in found)


def test_ten_thou_is_not_doubted() -> None:
    (reading,) = readings("ten thou")
    assert (f"{reading.value:f}", reading.unit, reading.doubt) == ("0.010", "[in_i]", None)


def test_digits_grouped_oddly_are_doubted() -> None:
    (reading,) = readings("12,30,600")
    assert reading.doubt is not None


@pytest.mark.parametrize(
    ("said", "low", "high", "unit"),
    [
        ("twenty five to thirty thousandths", "0.025", "0.030", "[in_i]"),
        ("25 to 30 thousands", "0.025", "0.030", "[in_i]"),
        ("six to eight millimeters", "6", "8", "mm"),
        ("5.5 to 6 mm", "5.5", "6", "mm"),
        ("10-12mm", "10", "12", "mm"),
    ],
)
def test_a_range_keeps_both_ends_and_asks(said: str, low: str, high: str, unit: str) -> None:
    (reading,) = readings(said)
    assert (f"{reading.low:f}", f"{reading.value:f}", reading.unit) == (low, high, unit)
    assert reading.doubt is not None
    assert low in reading.doubt and high in reading.doubt


@pytest.mark.parametrize(
    "said",
    ["left front to right rear", "point", "a", "oh", "minus", "and a", "7:30", "-", "to", ""],
)
def test_what_is_no_number_gives_none(said: str) -> None:
    assert find_numbers(said) == []


def test_two_numbers_in_a_row_stay_two() -> None:
    assert [span.text for span in find_numbers("outer 6, inner 4.5")] == ["6", "4.5"]
    assert [span.text for span in find_numbers("nine, eight and a half, eight")] == [
        "nine",
        "eight and a half",
        "eight",
    ]


def test_a_part_of_an_inch_that_lost_its_number_has_no_reading() -> None:
    (span,) = find_numbers("tie sixteenths")
    assert (span.text, span.readings) == ("sixteenths", ())


def test_a_voltage_pair_goes_with_volts_only() -> None:
    assert first("twelve six volts") == ("12.6", "V")
    assert "11.30" not in {f"{r.value:f}" for r in readings("eleven thirty seconds")}
