"""Doubts first if wished, and what was signed before of the same truck."""

import re
from datetime import timedelta
from decimal import Decimal

from fastapi.testclient import TestClient

from models.record import Record, Review
from models.signing import sign
from pipelines.review.case import load_case, shown
from tests.pipelines.review.sample import AT, ID, Bench, add_inspection, draft, finding_id, place

PAGE = f"/inspections/{ID}"


def _order(text: str) -> list[int]:
    return [int(n) for n in re.findall(r'<article[^>]*><h2 id="f-[^"]*?(\d)"', text)]


def test_doubts_come_first_if_wished(client: TestClient, bench: Bench) -> None:
    assert _order(client.get(PAGE).text) == [1, 2, 3, 4, 5, 6]
    text = client.get(f"{PAGE}?order=attention").text
    assert _order(text) == [3, 4, 5, 6, 1, 2]
    assert "<b>3</b>" in text[text.index("<article") :][:600]  # keeps its number
    assert _order(client.get(f"{PAGE}?order=elsewhere").text) == [1, 2, 3, 4, 5, 6]


def test_deciding_goes_on_in_the_order_that_was_chosen(client: TestClient, bench: Bench) -> None:
    def decide(number: int, **more: str) -> str:
        case = load_case(bench.store, ID)
        assert case is not None
        finding = case.finding(finding_id(number))
        assert finding is not None
        data = {"seen": shown(finding), "order": "attention", **more}
        answer = client.post(f"{PAGE}/findings/{finding.id}/reject", data={"reason": "r", **data})
        assert answer.status_code == 303
        return answer.headers["location"]

    assert decide(5) == f"{PAGE}?said=reject&order=attention#{place(6)}"
    assert decide(6) == f"{PAGE}?said=reject&order=attention#{place(1)}"
    assert decide(3, order="<script>") == f"{PAGE}?said=reject#{place(4)}"
    assert "script" not in client.get(f"{PAGE}?order=<script>").text.split("<main")[1].split("<dialog")[0]


def _signed_before(
    bench: Bench, number: int, value: str, unit: str = "417", state: str = "confirmed"
) -> Record:
    """An inspection of another day with one pad, signed."""
    record = draft(bench.audio, bench.photo, id=f"44444444-3a3f-4f5c-9a7c-{number:012d}", unit=unit)
    first = record.findings[0]
    assert first.reading is not None
    reading = first.reading.model_copy(update={"value": Decimal(value)})
    review = Review.model_validate({"state": state, "by": "Ana", "at": AT, "reason": "r"})
    at = AT - timedelta(days=30 * number)
    head = record.inspection.model_copy(update={"started_at": at, "ended_at": at})
    kept = first.model_copy(update={"reading": reading, "review": review})
    record = record.model_copy(update={"findings": (kept,), "inspection": head})
    add_inspection(bench.store, record)
    bench.store.sign(head.id, sign(record, "Ana", AT), 0)
    return record


def test_earlier_signed_values_stand_beside(client: TestClient, bench: Bench) -> None:
    assert "Earlier:" not in client.get(PAGE).text
    _signed_before(bench, 1, "7.0")
    _signed_before(bench, 2, "8.50")
    _signed_before(bench, 3, "9.9", unit="418")  # another truck
    _signed_before(bench, 4, "1.1", state="rejected")
    _signed_before(bench, -1, "2.2")  # later than this one
    text = client.get(PAGE).text
    (line,) = re.findall(r'<p class="earlier">(.*?)</p>', text)
    words = " ".join(re.sub(r"<[^>]+>", "", line).split())
    assert words == "Earlier: 2026-10-21 7.0 mm (within limit), 2026-09-21 8.50 mm (within limit)"
    assert 'href="/inspections/44444444-3a3f-4f5c-9a7c-000000000001"' in line
    assert text.index('class="earlier"') < text.index("</article>")  # beside the first finding


def test_only_a_few_earlier_values_are_shown(client: TestClient, bench: Bench) -> None:
    for number in range(1, 6):
        _signed_before(bench, number, f"{number}.0")
    (line,) = re.findall(r'<p class="earlier">(.*?)</p>', client.get(PAGE).text)
    assert re.findall(r"(\d\.\d) mm", line) == ["1.0", "2.0", "3.0"]
