"""The API does what its description says, whatever is asked of it."""

from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings

from models.people import Person
from models.record import Review
from models.signing import sign
from pipelines.review.app import create_app
from pipelines.review.visitor import digest_of
from tests.pipelines.review.sample import AT, ID, Bench, add_inspection, build, draft

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")

TOKEN = "the token of the counter"


def _sign(bench: Bench, id: str = ID) -> None:
    record = bench.store.draft(id)
    assert record is not None
    decided = Review(state="confirmed", by="Ana", at=AT)
    findings = [f.model_copy(update={"review": decided}) for f in record.findings if f.component]
    bench.store.sign(id, sign(record.model_copy(update={"findings": tuple(findings)}), "Ana", AT), 0)


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    bench = build(tmp_path_factory.mktemp("api"))
    _sign(bench)
    now = datetime.now(UTC)
    for name, role in (("Ana", "reviewer"), ("counter", "system")):
        bench.store.people.add(Person.model_validate({"name": name, "role": role, "added_at": now}), "x")
    bench.store.people.open_session(digest_of(TOKEN), "counter", now, now + timedelta(hours=1))
    yield create_app(bench.store, bench.home, bench.settings)
    bench.store.close()


@pytest.fixture(scope="module")
def described(app):
    with TestClient(app, base_url="http://127.0.0.1") as client:
        answer = client.get("/api/openapi.json", headers={"authorization": f"Bearer {TOKEN}"})
    described = schemathesis.openapi.from_dict(answer.json())
    described.app = app
    return described


def test_the_api_keeps_to_its_description(described) -> None:
    from schemathesis.specs.openapi.checks import ignored_auth  # sends our own token and wonders; see below

    headers = {"authorization": f"Bearer {TOKEN}"}
    operations = [found.ok() for found in described.get_all_operations()]
    known = {"/api/records", "/api/records/{id}", "/api/records/{id}/media/{sha256}"}
    assert {operation.path for operation in operations} >= known
    for operation in operations:

        @given(operation.as_strategy())
        @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
        def keeps_to_it(case) -> None:
            case.call_and_validate(
                headers=headers, base_url="http://127.0.0.1", excluded_checks=[ignored_auth]
            )

        keeps_to_it()


def test_the_record_is_found_under_its_id(app) -> None:
    with TestClient(app, base_url="http://127.0.0.1") as client:
        client.headers["authorization"] = f"Bearer {TOKEN}"
        assert client.get(f"/api/records/{ID}").json()["signature"]["by"] == "Ana"
        for id, status in (("none", 404), ("a b", 400), ("x" * 65, 400)):
            answer = client.get(f"/api/records/{id}")
            assert answer.status_code == status
            assert answer.headers["content-type"] == "application/problem+json"
        assert client.post("/api/records", data={"a": "1"}).status_code == 403


def test_what_was_signed_since_is_read_with_a_cursor(bench: Bench, client: TestClient) -> None:
    assert client.get("/api/records").json() == []
    _sign(bench)
    for n in range(4):  # signed later, inspected earlier
        id = f"66666666-3a3f-4f5c-9a7c-{n:012d}"
        begun = AT - timedelta(days=n + 1)
        record = draft(bench.audio, bench.photo, id=id)
        head = record.inspection.model_copy(update={"started_at": begun, "ended_at": begun})
        add_inspection(bench.store, record.model_copy(update={"inspection": head}))
        _sign(bench, id)
    pages, after = [], 0
    while lines := client.get(f"/api/records?after={after}&limit=2").json():
        pages.append([line["id"][-1] for line in lines])
        after = lines[-1]["cursor"]
    assert pages == [["d", "0"], ["1", "2"], ["3"]]
    assert client.get(f"/api/records?after={after}").json() == []
    for wrong in ("after=-1", "after=x", "limit=0", "limit=501", "after=99999999999999999999"):
        answer = client.get(f"/api/records?{wrong}")
        assert (answer.status_code, answer.headers["content-type"]) == (400, "application/problem+json")


def test_files_of_a_signed_record_are_read_and_no_others(bench: Bench, client: TestClient) -> None:
    at = f"/api/records/{ID}/media"
    assert client.get(f"{at}/{bench.photo.sha256}").status_code == 404  # not signed yet
    _sign(bench)
    photo = client.get(f"{at}/{bench.photo.sha256}")
    assert (photo.status_code, photo.headers["content-type"]) == (200, "image/jpeg")
    sound = client.get(f"{at}/{bench.audio.sha256}", headers={"range": "bytes=0-9"})
    assert (sound.status_code, sound.headers["content-type"], len(sound.content)) == (206, "audio/mp4", 10)
    stray = bench.store.unassigned()[0]
    for sha256, status in ((stray.sha256, 404), ("0" * 64, 404), ("..%2f..%2fx", 404), ("x" * 64, 400)):
        answer = client.get(f"{at}/{sha256}")
        assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")


def test_every_address_wants_a_known_token(app) -> None:
    described = app.openapi()["paths"]
    sha256 = next(c.sha256 for c in app.state.desk.store.captures(ID))
    paths = [path.replace("{id}", ID).replace("{sha256}", sha256) for path in described]
    with TestClient(app, base_url="http://127.0.0.1") as client:
        for path in (*paths, "/api/openapi.json"):
            assert client.get(path, headers={"authorization": f"Bearer {TOKEN}"}).status_code == 200
            for wrong in ("", "Bearer", f"Bearer {TOKEN}x", f"Basic {TOKEN}", f"Bearer {digest_of(TOKEN)}"):
                answer = client.get(path, headers={"authorization": wrong})
                assert (answer.status_code, answer.headers["www-authenticate"]) == (401, "Bearer")
                assert answer.json() == {"type": "about:blank", "title": "Sign in first.", "status": 401}
