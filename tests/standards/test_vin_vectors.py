"""VIN check digits and model years against 49 CFR 565.15 and 565.25."""

import itertools

import pytest

from models.vin import check_digit, model_years, report, same_value


@pytest.mark.parametrize(
    ("vin", "digit"),
    [
        ("1M8GDM9AXKP042788", "X"),  # the textbook example: sum 351
        ("11111111111111111", "1"),  # sum 89
        ("1G8ZG127XWZ157259", "X"),  # sum 494
        ("1HGEM21292L047875", "9"),  # sum 339
        ("5GZCZ43D13S812715", "1"),  # sum 408
    ],
)
def test_worked_examples(vin, digit):
    assert check_digit(vin) == digit == vin[8]


@pytest.mark.parametrize(("vin", "digit"), [("1M8GDN9AXKP042788", "2"), ("1M8GDM9AXKP042878", "0")])
def test_one_wrong_letter_and_two_swapped_digits_are_noticed(vin, digit):
    seen = report(vin)
    assert not seen.check_digit_fits
    assert seen.expected_check_digit == digit


@pytest.mark.parametrize("group", ["3CLT", "7GPX", "5ENV", "2BKS", "4DMU", "1AJ", "8HY", "6FW", "9RZ"])
def test_letters_of_one_value_cannot_be_told_apart(group):
    for one, other in itertools.permutations(group, 2):
        assert other in same_value(one)
        assert check_digit(f"1M8{one}DM9A0KP042788") == check_digit(f"1M8{other}DM9A0KP042788")


@pytest.mark.parametrize("place", range(1, 8))
def test_swapping_positions_of_one_weight_goes_unnoticed(place):
    # positions 1 and 11, 2 and 12, ... 7 and 17 carry the same weight
    vin = list("1M8GDM9AXKP042788")
    vin[place - 1], vin[place + 9] = vin[place + 9], vin[place - 1]
    assert check_digit("".join(vin)) == "X"


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("A", 1980, 2010),
        ("H", 1987, 2017),
        ("J", 1988, 2018),
        ("T", 1996, 2026),
        ("Y", 2000, 2030),
        ("9", 2009, 2039),
    ],
)
def test_position_seven_chooses_the_cycle_up_to_10000_lb(code, old, new):
    digit_in_7 = f"1M8GDM9A0{code}P042788"
    letter_in_7 = f"1M8GDMAA0{code}P042788"
    assert model_years(digit_in_7, 10_000) == (old,)  # 565.25(b)
    assert model_years(letter_in_7, 10_000) == (new,)  # 565.15(b)
    assert model_years(letter_in_7, 10_001) == (old, new)


def test_every_year_code_of_both_cycles():
    # A 1980 ... Y 2000, 1 2001 ... 9 2009, A 2010 ...; never I, O, Q, U, Z or 0
    codes = "ABCDEFGHJKLMNPRSTVWXY123456789"
    for place, code in enumerate(codes):
        assert model_years(f"1M8GDM9A0{code}P042788", 10_000) == (1980 + place,)
        assert model_years(f"1M8GDMAA0{code}P042788", 10_000) == (2010 + place,)


@pytest.mark.parametrize("code", "UZ0")
def test_letters_that_never_stand_for_a_year(code):
    assert model_years(f"1M8GDM9A0{code}P042788") == ()
