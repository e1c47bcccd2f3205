from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from pipelines.review.app import create_app
from tests.pipelines.review.sample import KEY, Bench, build


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = build(tmp_path)
    yield made
    made.store.close()


@pytest.fixture
def client(bench: Bench) -> Iterator[TestClient]:
    app = create_app(bench.store, bench.home, bench.settings, key=KEY)
    with TestClient(app, base_url="http://127.0.0.1:8417", follow_redirects=False) as made:
        made.get(f"/?key={KEY}")  # the start-up link
        made.cookies.set("reviewer", "Ana%20Cole")
        yield made
