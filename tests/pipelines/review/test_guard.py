import pytest
from fastapi.testclient import TestClient

from models.record import Evidence
from pipelines.review.case import load_case, shown
from pipelines.review.guard import LARGEST_FORM
from tests.pipelines.review.sample import ID, Bench, add_inspection, draft, finding_id

CONFIRM = f"/inspections/{ID}/findings/{finding_id(1)}/confirm"


def _data(bench: Bench) -> dict[str, str]:
    case = load_case(bench.store, ID)
    assert case is not None and case.record is not None
    return {"seen": shown(case.record.findings[0])}


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1", 200),
        ("127.0.0.1:9", 200),
        ("localhost:8417", 200),
        ("LOCALHOST", 200),
        ("[::1]:8417", 200),
        ("rebound.test", 400),
        ("127.0.0.1.rebound.test", 400),
        ("localhost.rebound.test:8417", 400),
        ("x@127.0.0.1", 400),
        ("0.0.0.0", 400),
        ("192.168.1.9:8417", 400),
        ("", 400),
    ],
)
def test_only_our_own_names_are_answered(client: TestClient, host: str, status: int) -> None:
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == status
    assert "default-src 'self'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 303),
        ({"sec-fetch-site": "same-origin"}, 303),
        ({"sec-fetch-site": "none"}, 303),
        ({"origin": "http://127.0.0.1:8417"}, 303),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"sec-fetch-site": "cross-site", "origin": "http://127.0.0.1:8417"}, 403),
        ({"origin": "http://elsewhere.test"}, 403),
        ({"origin": "https://127.0.0.1:8417"}, 403),
        ({"origin": "http://127.0.0.1:9999"}, 403),
        ({"origin": "http://localhost:8417"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": ""}, 403),
    ],
)
def test_other_sites_change_nothing(client: TestClient, bench: Bench, headers, status: int) -> None:
    assert client.post(CONFIRM, data=_data(bench), headers=headers).status_code == status
    assert len(bench.store.events(ID)) == (1 if status == 303 else 0)


def test_other_sites_may_not_use_any_action(client: TestClient, bench: Bench) -> None:
    here = f"/inspections/{ID}"
    actions = ["/name", f"{here}/add", f"{here}/sign", f"{here}/confirm-plain", "/captures/x/assign"]
    actions += [CONFIRM.replace("confirm", kind) for kind in ("correct", "take", "reject", "reopen")]
    for address in actions:
        answer = client.post(address, data={"by": "x"}, headers={"sec-fetch-site": "cross-site"})
        assert answer.status_code == 403
    assert bench.store.events(ID) == []


def test_reading_never_changes_anything(client: TestClient, bench: Bench) -> None:
    for address in (CONFIRM, f"/inspections/{ID}/sign", f"/inspections/{ID}/confirm-plain"):
        assert client.get(address).status_code in {404, 405}
    assert bench.store.events(ID) == []


def test_forms_are_small_plain_and_say_their_length(client: TestClient, bench: Bench) -> None:
    big = {**_data(bench), "saw": "x" * LARGEST_FORM}
    assert client.post(CONFIRM, data=big).status_code == 413
    assert client.post(CONFIRM, content=iter([b"seen=1"])).status_code == 411
    assert client.post(CONFIRM, json=_data(bench)).status_code == 415
    assert client.post(CONFIRM, files={"seen": b"1"}).status_code == 415
    form = {"content-type": "application/x-www-form-urlencoded"}
    assert client.post(CONFIRM, content=b"a=%ff", headers=form).status_code == 400
    assert client.post(CONFIRM, content=b"&".join([b"a=1"] * 200), headers=form).status_code == 400
    assert bench.store.events(ID) == []


def test_every_answer_carries_the_headers(client: TestClient, bench: Bench) -> None:
    for address in ("/", "/nowhere", "/static/review.css", f"/photo/{bench.photo.sha256}", "/api/records"):
        headers = client.get(address).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["content-security-policy"].startswith("default-src 'self';")
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cross-origin-resource-policy"] == "same-origin"
    assert client.get("/").headers["cache-control"] == "no-store"
    cookie = client.post("/name", data={"name": "Ana"}).headers["set-cookie"].casefold()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_markup_in_what_was_heard_or_typed_stays_text(client: TestClient, bench: Bench) -> None:
    evil = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
    record = draft(bench.audio, bench.photo, id="33333333-3a3f-4f5c-9a7c-000000000000", unit=evil)
    sound = Evidence(kind="audio", capture=bench.audio.sha256, text=evil, start_s=0.0, end_s=1.0)
    first = record.findings[0]
    assert first.reading is not None
    reading = first.reading.model_copy(update={"as_given": evil})
    update = {"evidence": (sound,), "attention": (evil,), "reading": reading}
    findings = (first.model_copy(update=update), *record.findings[1:])
    add_inspection(bench.store, record.model_copy(update={"findings": findings, "notices": (evil,)}))
    page = f"/inspections/{record.inspection.id}"
    client.cookies.set("reviewer", "%3Cscript%3Ealert(1)%3C/script%3E")
    at = f"{page}/findings/{finding_id(1)}"
    answers = [
        client.get("/"),
        client.get(page),
        client.get(f"{at}/edit"),
        client.post(f"{at}/correct", data={"saw": evil, "seen": "stale", "value": evil, "unit": evil}),
        client.post(f"{page}/add", data={"value": evil, "component": evil, "reason": evil}),
        client.get("/inspections/" + "<script>"),
        client.get(f"/?said={evil}"),
    ]
    for answer in answers:
        assert answer.headers["content-type"].startswith("text/html")
        assert "<script>" not in answer.text
        assert "<img src=x" not in answer.text
    assert "&lt;script&gt;" in answers[1].text
