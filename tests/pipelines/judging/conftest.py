"""Findings and limits for the judging tests, built as short as they are said."""

from decimal import Decimal
from itertools import count

import pytest

from models.limits import load_limits
from models.places import Position
from models.record import Finding, Reading
from models.settings import TruckSettings
from pipelines.judging import judge


@pytest.fixture
def finding():
    numbers = count()

    def make(component, measure, value, unit, **place):
        reading = Reading(measure=measure, value=Decimal(value), unit=unit, as_given=f"{value} {unit}")
        return Finding(
            id=f"f{next(numbers)}",
            component=component,
            position=Position(**place),
            reading=reading,
            confidence=0.9,
        )

    return make


@pytest.fixture
def limits(tmp_path):
    """Limits from the text of one file: a head for all and the entries given."""

    def make(entries, head=""):
        common = {
            "kind": "maker",
            "source": "a service manual",
            "seen": "secondary source",
            "jurisdiction": "none",
            "as_of": "2006",
            "unit": "mm",
            "near": "none",
        }
        lines = [f"{k}: {v}" for k, v in common.items() if f"{k}:" not in head]
        text = "\n".join([*lines, head, "limits:", entries])
        (tmp_path / "limits.yaml").write_text(text, encoding="utf-8")
        return load_limits(tmp_path)

    return make


@pytest.fixture
def verdicts():
    def give(findings, limits, **truck):
        return [f.verdict for f in judge(findings, limits, TruckSettings(**truck))]

    return give
