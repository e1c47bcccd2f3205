"""The page for the bay, and what plans, rules and wear put on the reviewer's page."""

from datetime import UTC, datetime

from fastapi.testclient import TestClient

from models.record import PlanItem
from models.store.store import AMENDMENT
from pipelines.review.bay import asked
from tests.pipelines.review.sample import ID, Bench, draft
from tests.pipelines.review.shop import furnish, planned

PAGE = f"/inspections/{ID}"


def test_the_bay_lists_what_is_missing_by_stop(client: TestClient, bench: Bench) -> None:
    bench.store.put_draft(ID, planned(bench))
    text = client.get("/bay").text
    assert "Unit 417" in text
    assert text.index("cooling system") < text.index("left front wheel") < text.index("engine bay")
    assert 'left front wheel <span class="quiet">2 missing' in text
    assert "The photo shows 13.5 psi and the voice says 30.5 psi." in text
    page = client.get(PAGE).text
    assert "must be measured, or measured again" in page
    assert f'href="/bay#truck-{ID}"' in page
    assert 'href="/bay"' in client.get("/").text


def test_the_bay_shows_open_trucks_only(client: TestClient, bench: Bench) -> None:
    row = bench.store.inspection(ID)
    assert row is not None
    for n in range(9):
        later = datetime(2026, 11, 21, n, tzinfo=UTC)
        id = f"55555555-3a3f-4f5c-9a7c-{n:012d}"
        bench.store.add_inspection(row.model_copy(update={"id": id, "unit": f"T{n}", "started_at": later}))
        record = draft(bench.audio, bench.photo, id=id, unit=f"T{n}")
        bench.store.put_draft(id, record.model_copy(update={"findings": record.findings[:2]}))
    text = client.get("/bay").text
    assert text.count('<h2 id="truck-') == 6
    assert "Unit T8" in text
    assert "Unit 417" not in text
    assert "No plan says what must be measured on this truck." in text


def test_an_amendment_is_no_truck_in_the_bay(client: TestClient, bench: Bench) -> None:
    furnish(bench)
    (new,) = (row.id for row in bench.store.inspections() if row.folder.startswith(AMENDMENT))
    text = client.get("/bay").text
    assert f"truck-{ID}" in text
    assert f"truck-{new}" not in text
    assert "the list for the bay" in client.get(PAGE).text
    assert "the list for the bay" not in client.get(f"/inspections/{new}").text


def test_what_is_asked_keeps_the_order_of_the_walk_round(bench: Bench) -> None:
    items = (
        PlanItem(stop="b", component="hub"),
        PlanItem(stop="a", component="tire", state="measure again", why="two values"),
        PlanItem(stop="a", component="hub"),
        PlanItem(stop="b", component="tire"),
        PlanItem(stop="a", component="frame", state="done"),
    )
    again, missing = asked(planned(bench).model_copy(update={"plan": items}))
    assert [item.component for item in again] == ["tire"]
    assert [(stop.name, len(stop.items)) for stop in missing] == [("b", 2), ("a", 1)]


def test_suggestions_and_wear_stand_beside_the_finding(client: TestClient, bench: Bench) -> None:
    bench.store.put_draft(ID, planned(bench))
    text = client.get(PAGE).text
    assert "Suggested: Replace the pads of an axle &lt;together&gt;." in text
    assert "(common practice: shop handbook, page 4)" in text
    assert "1.0 mm less than on 2026-05-02." in text
