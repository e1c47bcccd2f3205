"""Tire date codes: 49 CFR 574.5; four digits since 1999 (64 FR 36807), week then year (common practice)."""

from datetime import date

import pytest

from models.tire_date import MadeIn, TireDateError, made_in


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


def test_the_age_counts_from_the_end_of_the_week():
    assert MadeIn(2020, 1).age_years(date(2020, 1, 8)) == 0
    assert MadeIn(2020, 1).age_years(date(2020, 1, 3)) == 0
    assert MadeIn(2016, 1).age_years(date(2026, 1, 8)) == pytest.approx(10, abs=0.01)


def test_a_tire_from_the_future_is_refused():
    with pytest.raises(TireDateError, match="read the date code on the tire again"):
        made_in("3026").age_years(date(2026, 1, 10))
