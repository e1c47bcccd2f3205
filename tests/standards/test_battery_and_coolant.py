"""Battery load test by temperature, and coolant against the coldest weather."""

import pytest

from models.limits import load_limits
from models.record import Evidence

# Minimum volts after 15 s under half of the cold cranking current, at the temperature in degrees Celsius, as
# two makers' service manuals print it.
TABLE = [
    ("20", "9.6"),
    ("16", "9.5"),
    ("10", "9.4"),
    ("4", "9.3"),
    ("-1", "9.1"),
    ("-7", "8.9"),
    ("-12", "8.7"),
    ("-18", "8.5"),
]


@pytest.fixture
def loaded(finding, verdicts):
    def give(volts, celsius=None, text="battery load test", unit="Cel"):
        heard = Evidence(kind="audio", capture="a" * 64, text=text, start_s=0, end_s=1)
        found = [finding("battery", "voltage", volts, "V").model_copy(update={"evidence": (heard,)})]
        found += [] if celsius is None else [finding("battery", "temperature", celsius, unit)]
        return verdicts(found, load_limits())[0]

    return give


@pytest.mark.parametrize(("celsius", "volts"), TABLE)
def test_the_table_at_each_row_and_a_hundredth_below(loaded, celsius, volts):
    at = loaded(volts, celsius)
    assert at.word == "near limit"
    assert at.limit.kind == "common practice"
    below = loaded(f"{float(volts) - 0.01:.2f}", celsius)
    assert below.word == "beyond limit"
    assert f"at least {volts} V" in below.sentence
    assert loaded(f"{float(volts) + 0.11:.2f}", celsius).word == "within limit"


def test_between_two_rows_the_warmer_counts(loaded):
    assert loaded("9.45", "12").word == "beyond limit"
    assert loaded("9.50", "12").word == "near limit"
    assert loaded("9.45", "10").word == "near limit"


def test_warmer_than_the_table_is_its_warmest_row(loaded):
    assert loaded("9.59", "100", unit="[degF]").word == "beyond limit"


def test_colder_than_the_table_and_an_unknown_temperature_are_not_judged(loaded):
    assert loaded("8.0", "-19").word == "not judged"
    unknown = loaded("9.45")
    assert unknown.word == "not judged"
    assert "not known how warm the battery was (say the battery's temperature" in unknown.sentence


def test_a_rested_voltage_is_no_load_test_and_a_loaded_one_no_state_of_charge(loaded):
    rested = loaded("11.95", "20", text="battery rested")
    assert rested.word == "not judged" and "% charged" in rested.sentence
    under = loaded("11.95", "20", text="Battery, under load.")
    assert under.word == "within limit" and "charged" not in under.sentence


def test_a_24_volt_battery_is_not_held_against_the_table(loaded):
    assert loaded("19.0", "20").word == "not judged"


@pytest.mark.parametrize(
    ("value", "unit", "word"),
    [
        ("-20", "[degF]", "within limit"),
        ("-19.9", "[degF]", "beyond limit"),
        ("-34", "[degF]", "within limit"),
        ("-28.9", "Cel", "within limit"),
        ("-28.8", "Cel", "beyond limit"),
    ],
)
@pytest.mark.parametrize("part", ["coolant", "cooling_system"])
def test_the_freeze_point_against_the_design_low(finding, verdicts, part, value, unit, word):
    # -20 degF is -28.889 degC
    reading = finding(part, "freeze_point", value, unit)
    (verdict,) = verdicts([reading], load_limits(), design_low_degF=-20)
    assert verdict.word == word
    assert "design_low_degF in the shop's settings" in verdict.sentence
    assert verdicts([reading], load_limits())[0].word == "not judged"
