import pytest

from models.vin import VinError, check_digit, model_years, normalized, report, same_value


def test_blanks_hyphens_and_small_letters_do_not_count():
    assert normalized(" 1m8-gdm9a xkp 042788 ") == "1M8GDM9AXKP042788"


@pytest.mark.parametrize(
    ("text", "why"),
    [("1M8GDM9AXKP04278", "17 characters; .* has 16"), ("1M8GDM9AXKP04278O", "holds O"), ("", "has 0")],
)
def test_what_cannot_be_a_vin_is_refused(text, why):
    with pytest.raises(VinError, match=why):
        check_digit(text)


def test_a_wrong_check_digit_is_reported_and_the_number_left_alone():
    seen = report("1M8GDN9AXKP042788", gross_weight_lb=9000)
    assert seen.vin == "1M8GDN9AXKP042788"
    assert not seen.check_digit_fits
    assert seen.expected_check_digit == "2"
    assert "is X where the other characters ask for 2" in seen.problems[0]


def test_a_sound_number_has_no_problem_when_the_weight_is_known():
    seen = report("1M8GDM9AXKP042788", gross_weight_lb=9000)
    assert seen.check_digit_fits
    assert seen.problems == ()
    assert seen.model_years == (1989,)


def test_a_letter_that_stands_for_no_year_is_said():
    # U is a legal VIN character but no year code; position 9 is then made to fit
    vin = "1M8GDM9A0UP042788"
    vin = vin[:8] + check_digit(vin) + vin[9:]
    assert report(vin).problems == (f"Position 10 of {vin} is U, which stands for no model year.",)


@pytest.mark.parametrize(
    ("weight", "years"), [(None, (1989, 2019)), (26_000, (1989, 2019)), (10_000, (1989,))]
)
def test_the_year_of_a_heavy_truck_stays_open(weight, years):
    assert model_years("1M8GDM9AXKP042788", weight) == years


def test_blind_spots_leave_out_the_check_digit_itself():
    seen = report("1M8GDM9AXKP042788")
    assert 9 not in [place for place, _ in seen.blind_spots]
    assert dict(seen.blind_spots)[4] == same_value("G") == "7PX"
