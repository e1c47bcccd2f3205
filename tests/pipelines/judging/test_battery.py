from fractions import Fraction

import pytest

from models.limits import load_limits
from pipelines.judging.battery import charge_table, charge_words, state_of_charge


@pytest.mark.parametrize(
    ("volts", "degf", "percent"),
    [
        # a battery maker's article: rested at 80 degF
        ("12.65", None, 100),
        ("12.45", None, 75),
        ("12.24", None, 50),
        ("12.06", None, 25),
        ("11.89", None, 0),
        ("12.45", 80, 75),
        # the same article: 0.024 V less for every 10 degF colder, 0.072 V at 50 degF
        ("12.378", 50, 75),
        ("12.474", 90, 75),
        ("12.15", None, Fraction(75, 2)),
        ("13.0", None, 100),
        ("11.0", None, 0),
    ],
)
def test_state_of_charge(volts, degf, percent):
    warmth = None if degf is None else Fraction(degf)
    assert state_of_charge(Fraction(volts), warmth, charge_table()) == percent


def test_nothing_is_said_of_what_is_no_12_volt_battery_at_rest():
    assert charge_words(Fraction("25.2"), None) is None
    assert charge_words(Fraction("14.2"), None) is None
    assert charge_words(Fraction("6.3"), None) is None


def test_the_sentence_names_what_it_takes_for_granted(finding, verdicts):
    volts = finding("battery", "voltage", "12.45", "V")
    cold = finding("battery", "temperature", "10", "Cel")
    (verdict,) = verdicts([volts], load_limits())
    assert verdict.word == "not judged"
    assert "rested and at 80 °F, is about 75 % charged" in verdict.sentence
    (verdict, _) = verdicts([finding("battery", "voltage", "12378", "mV"), cold], load_limits())
    assert "rested and corrected from 50 °F, is about 75 % charged" in verdict.sentence
