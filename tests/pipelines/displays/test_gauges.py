"""The shop's instruments and what they cannot show."""

from decimal import Decimal
from pathlib import Path

import pytest

from models.display import DisplayReading
from pipelines.displays.gauges import Gauge, GaugeError, cannot_show, load_gauges


def gauge(name: str) -> Gauge:
    return next(g for g in load_gauges() if g.name == name)


def reading(text: str, unit: str | None) -> DisplayReading:
    return DisplayReading(capture="0", text=text, value=Decimal(text), unit=unit, confidence=1)


def test_shipped_file_loads_with_exact_numbers() -> None:
    assert gauge("caliper").scales[0].high == Decimal("155.00")


@pytest.mark.parametrize(("text", "unit"), [("29.79", "mm"), ("0.0600", "[in_i]"), ("29.79", None)])
def test_what_a_caliper_shows(text: str, unit: str | None) -> None:
    assert cannot_show(gauge("caliper"), reading(text, unit)) is None


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("2979", "mm", "decimal point"),
        ("297.90", "mm", "values from"),
        ("29.79", "[psi]", "does not show psi"),
    ],
)
def test_what_a_caliper_cannot_show(text: str, unit: str, words: str) -> None:
    sentence = cannot_show(gauge("caliper"), reading(text, unit))
    assert sentence is not None and words in sentence


def test_no_value_is_no_matter() -> None:
    assert cannot_show(gauge("multimeter"), DisplayReading(capture="0", text="OL")) is None


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("gauges: [", "as YAML"),
        ("other: 1", "list 'gauges'"),
        (
            "gauges: [{name: a, words: [a], scales: [{unit: furlong, decimals: [1], low: 0, high: 1}]}]",
            "furlong",
        ),
    ],
)
def test_a_wrong_file_is_named(tmp_path: Path, content: str, words: str) -> None:
    path = tmp_path / "gauges.yaml"
    path.write_text(content)
    with pytest.raises(GaugeError, match=words) as caught:
        load_gauges(path)
    assert "gauges.yaml" in str(caught.value)
