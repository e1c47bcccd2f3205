"""Whoever watches over the pages sees that they live; the figures are behind the door."""

from pathlib import Path

from fastapi.testclient import TestClient

from pipelines.review.app import create_app
from tests.pipelines.review.sample import KEY, build


def test_health_is_for_everybody_and_the_figures_are_not(tmp_path: Path) -> None:
    bench = build(tmp_path)
    app = create_app(bench.store, bench.home, bench.settings, key=KEY)
    with TestClient(app, base_url="http://127.0.0.1") as stranger:
        assert stranger.get("/health/live").json() == {"status": "alive"}
        answer = stranger.get("/health")
        assert (answer.status_code, answer.json()) == (200, {"status": "ready"})
        assert stranger.get("/api/metrics").status_code == 403
        assert stranger.get("/health", headers={"host": "evil.example"}).status_code == 400
        stranger.get(f"/?key={KEY}")
        figures = stranger.get("/api/metrics")
        assert figures.status_code == 200
        assert "droplight_inspections_open" in figures.text
        assert figures.headers["content-type"].startswith("text/plain")
    bench.store.close()
