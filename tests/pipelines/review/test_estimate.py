"""The estimate on the page of an inspection: found anew after every decision, and signed with the record."""

from decimal import Decimal

import pytest
from fastapi.testclient import TestClient

from models.estimate import Estimate, EstimateLine
from models.record import Record
from pipelines.review.app import create_app
from pipelines.review.case import load_case
from tests.pipelines.review.sample import ID, KEY, Bench

PAGE = f"/inspections/{ID}"
FIGURES = {"currency": "USD", "labor_rate": Decimal(118), "source": "price list", "as_of": "2026-11-01"}


def reckon(record: Record) -> Record:
    """One line for every finding that was not rejected."""
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    lines = tuple(
        EstimateLine(
            component=f.component or "tire",
            action="replace",
            basis="said",
            reason="<b>It is worn.</b>",
            findings=(f.id,),
            words="new parts",
            hours=Decimal(1),
            labor=Decimal("118.00"),
            parts=Decimal("2.00"),
            total=Decimal("120.00"),
        )
        for f in kept
    )
    total = Decimal("120.00") * len(lines)
    figures = {"total_said": total, "total_further": Decimal("0.00"), "without_figures": 0}
    estimate = Estimate.model_validate({**FIGURES, **figures, "lines": lines})
    return record.model_copy(update={"estimate": estimate})


@pytest.mark.parametrize("with_table", [True, False])
def test_the_page_shows_figures_only_with_a_table(bench: Bench, with_table: bool) -> None:
    app = create_app(bench.store, bench.home, bench.settings, key=KEY, reckon=reckon if with_table else None)
    with TestClient(app, base_url="http://localhost") as client:
        client.get(f"/?key={KEY}")
        text = client.get(PAGE).text
    assert ("What the work may cost" in text) is with_table
    assert ("120.00 USD" in text and "By price list, as of 2026-11-01" in text) is with_table
    assert "<b>It is worn." not in text
    if with_table:
        case = load_case(bench.store, ID, None, reckon)
        assert case is not None and case.record is not None and case.record.estimate is not None
        assert f"{case.record.estimate.total_said:,.2f} USD" in text
