"""The estimate on the page of an inspection: found anew after every decision, and signed with the record."""

import pytest
from fastapi.testclient import TestClient

from pipelines.review.app import create_app
from pipelines.review.case import load_case
from tests.pipelines.review.sample import ID, KEY, Bench
from tests.pipelines.review.shop import reckon

PAGE = f"/inspections/{ID}"


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
