"""Tire identification numbers: 49 CFR 574.5.

The date code has four digits since 1999 (64 FR 36807), week then year (common practice). Since the rule of
2015 (80 FR 19553) the code of the plant has three symbols, the number 13 of a new tire and 7 of a retread.
"""

from datetime import date
from decimal import Decimal

import pytest

from models.tire_date import MadeIn, TireDateError, made_in, tire_number


@pytest.mark.parametrize(
    ("code", "year", "week"),
    [("0118", 2018, 1), ("2319", 2019, 23), ("5320", 2020, 53), ("0100", 2000, 1), ("5299", 1999, 52)],
)
def test_week_and_year(code, year, week):
    assert made_in(code) == MadeIn(year, week)


@pytest.mark.parametrize("code", ["0018", "5418", "9919", "00", "12345", "23I9", "２３１９", "", "-119"])
def test_what_is_no_date_code_is_refused(code):
    with pytest.raises(TireDateError):
        made_in(code)


def test_three_digits_are_from_before_2000_and_of_no_known_decade():
    with pytest.raises(TireDateError, match="before 2000"):
        made_in("409")


@pytest.mark.parametrize(
    ("number", "length", "plant", "retread"),
    [
        ("1XY3219", 7, "1XY", True),
        ("1XYA3219", 8, None, False),
        ("1XYAB12C3219", 12, None, False),
        ("1XYAB12CD3219", 13, "1XY", False),
    ],
)
def test_13_symbols_of_a_new_tire_7_of_a_retread_and_other_lengths_from_before(
    number, length, plant, retread
):
    for text in (number, f"DOT {number}", f"dot {number[:3]} {number[3:-4].lower()}-{number[-4:]}"):
        found = tire_number(text)
        assert (len(found.symbols), found.plant, found.retread) == (length, plant, retread)
        assert found.made == MadeIn(2019, 32)


def test_more_than_13_symbols_are_no_number_of_a_tire():
    with pytest.raises(TireDateError, match="has 14 symbols"):
        tire_number("DOT 1XY AB12CDE 3219")


@pytest.mark.parametrize(
    ("number", "why"),
    [("1XYAB12CD5419", "week 54"), ("1XYAB12CD0019", "week 00"), ("U2LLLMLRX409", "before 2000"),
     ("1XYAB12CDEFGH", "no date code"), ("1XY/AB12CD3219", "letters and digits only")],
)  # fmt: skip
def test_a_number_without_a_good_date_code_is_refused(number, why):
    with pytest.raises(TireDateError, match=why):
        tire_number(number)


def test_the_age_counts_from_the_end_of_the_week():
    assert MadeIn(2020, 1).age_years(date(2020, 1, 8)) == 0
    assert MadeIn(2020, 1).age_years(date(2020, 1, 3)) == 0
    assert MadeIn(2016, 1).age_years(date(2026, 1, 8)) == pytest.approx(10, abs=0.01)


def test_a_tire_from_the_future_is_refused():
    with pytest.raises(TireDateError, match="read the date code on the tire again"):
        made_in("3026").age_years(date(2026, 1, 10))


def test_the_age_is_held_against_a_shop_s_limit_at_its_boundary(finding, limits, verdicts):
    # made in week 1 of 2016: ten years of 365.25 days (UCUM a) end on 8 January 2026
    shop = limits(
        '- {id: age, component: tire, measure: age, subject: age of a tire, at most: 10, unit: "a"}',
        "kind: shop rule",
    )
    words = []
    for day, years in ((7, "9.99"), (8, "10.00"), (12, "10.01")):
        age = made_in("0116").age_years(date(2026, 1, day))
        assert Decimal(int(age * 100)).scaleb(-2) == Decimal(years)
        reading = finding("tire", "age", years, "a", side="left", axle="front")
        words.append(verdicts([reading], shop)[0].word)
    assert words == ["within limit", "within limit", "beyond limit"]


def test_the_verdict_tells_week_and_year(finding, limits, verdicts):
    shop = limits('- {id: age, component: tire, measure: age, subject: age of a tire, at most: 6, unit: "a"}')
    reading = finding("tire", "age", "7.14", "a", side="left", axle="front")
    given = reading.reading.model_copy(update={"as_given": "date code 3219"})
    (verdict,) = verdicts([reading.model_copy(update={"reading": given})], shop)
    assert verdict.word == "beyond limit"
    assert "7.14 years is beyond the limit: age of a tire: at most 6 years" in verdict.sentence
    assert "Date code 3219 is week 32 of 2019" in verdict.sentence
    (corrected,) = verdicts([reading], shop)
    assert "week" not in corrected.sentence
