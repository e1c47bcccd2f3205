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
from tests.pipelines.review.sample import AT, ID, Bench, build

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")

TOKEN = "the token of the counter"


def _sign(bench: Bench) -> None:
    record = bench.store.draft(ID)
    assert record is not None
    decided = Review(state="confirmed", by="Ana", at=AT)
    findings = [f.model_copy(update={"review": decided}) for f in record.findings if f.component]
    bench.store.sign(ID, sign(record.model_copy(update={"findings": tuple(findings)}), "Ana", AT), 0)


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
    assert {operation.path for operation in operations} >= {"/api/records", "/api/records/{id}"}
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


def test_every_address_wants_a_known_token(app) -> None:
    paths = [path.replace("{id}", ID) for path in app.openapi()["paths"]]
    with TestClient(app, base_url="http://127.0.0.1") as client:
        for path in (*paths, "/api/openapi.json"):
            assert client.get(path, headers={"authorization": f"Bearer {TOKEN}"}).status_code == 200
            for wrong in ("", "Bearer", f"Bearer {TOKEN}x", f"Basic {TOKEN}", f"Bearer {digest_of(TOKEN)}"):
                answer = client.get(path, headers={"authorization": wrong})
                assert (answer.status_code, answer.headers["www-authenticate"]) == (401, "Bearer")
                assert answer.json() == {"type": "about:blank", "title": "Sign in first.", "status": 401}
