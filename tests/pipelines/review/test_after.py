"""After signing: amendments, and records that could not be handed on."""

from decimal import Decimal

from fastapi.testclient import TestClient

from models.record import Review
from models.signing import sign
from tests.pipelines.review.sample import AT, ID, Bench
from tests.pipelines.review.test_order_and_earlier import _signed_before

PAGE = f"/inspections/{ID}"


def _amended(client: TestClient, bench: Bench, id: str, value: str) -> str:
    """Amend a signed inspection on the page and sign it with another value; gives back its id."""
    answer = client.post(f"/inspections/{id}/amend", data={"amend": "yes"})
    assert answer.status_code == 303
    new = answer.headers["location"].split("/")[2].split("?")[0]
    draft = bench.store.draft(new)
    assert draft is not None
    first = draft.findings[0]
    assert first.reading is not None
    reading = first.reading.model_copy(update={"value": Decimal(value)})
    review = Review(state="corrected", by="Ana", at=AT, reason="misread")
    kept = first.model_copy(update={"reading": reading, "review": review})
    row = bench.store.inspection(new)
    assert row is not None
    bench.store.sign(new, sign(draft.model_copy(update={"findings": (kept,)}), "Ana", AT), row.version)
    return new


def test_a_signed_record_is_amended_by_a_new_draft(client: TestClient, bench: Bench) -> None:
    assert client.post(f"{PAGE}/amend", data={"amend": "yes"}).status_code == 409
    old = _signed_before(bench, 1, "7.0").inspection.id
    before = bench.store.signed(old)
    answer = client.post(f"/inspections/{old}/amend", data={"amend": "yes"})
    text = client.get(answer.headers["location"]).text
    assert "This is a new draft that amends the signed record" in text
    assert f'This amends <a href="/inspections/{old}">' in text
    assert "0 of 1" in text
    assert "put right by" not in client.get(f"/inspections/{old}").text  # not before it is signed
    assert bench.store.signed(old) == before


def test_the_signed_record_names_its_amendment(client: TestClient, bench: Bench) -> None:
    old = _signed_before(bench, 1, "7.0").inspection.id
    new = _amended(client, bench, old, "5.5")
    assert f'put right by <a href="/inspections/{new}">' in client.get(f"/inspections/{old}").text


def test_earlier_values_are_those_of_the_amendment(client: TestClient, bench: Bench) -> None:
    old = _signed_before(bench, 1, "7.0").inspection.id
    assert "<b>7.0 mm</b>" in client.get(PAGE).text
    new = _amended(client, bench, old, "5.5")
    text = client.get(PAGE).text
    assert "<b>5.5 mm</b>" in text
    assert "<b>7.0 mm</b>" not in text
    _amended(client, bench, new, "5.25")
    text = client.get(PAGE).text
    assert "<b>5.25 mm</b>" in text
    assert "<b>5.5 mm</b>" not in text


def test_records_that_were_given_up_are_listed_and_tried_again(client: TestClient, bench: Bench) -> None:
    assert "could not be handed on" not in client.get("/").text
    assert "0 arrived, 0 wait, 0 given up." in client.get("/deliveries").text
    _signed_before(bench, 1, "7.0", unit="<b>9</b>")
    _signed_before(bench, 2, "7.0")
    deliveries = bench.store.deliveries
    assert deliveries.plan("office") == 2
    first, _ = deliveries.all()
    deliveries.note(first, "dead", problem="The office answered 422.")
    assert '<a href="/deliveries">1 record could not be handed on</a>' in client.get("/").text
    text = client.get("/deliveries").text
    assert "Unit &lt;b&gt;9&lt;/b&gt;" in text
    assert "The office answered 422." in text
    assert "0 arrived, 1 waits, 1 given up." in text
    assert "not tried yet" in text
    deliveries.close("office", "It answered 410.")
    assert "<b>office</b>: It answered 410." in client.get("/deliveries").text
    answer = client.post("/deliveries/resend", data={"all": "yes"})
    assert answer.headers["location"] == "/deliveries?said=resend"
    assert [d.state for d in deliveries.all()] == ["waiting", "waiting"]
    assert deliveries.closed() == {}
