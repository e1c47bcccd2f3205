import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI

from models.settings import ReviewSettings
from pipelines.review.app import create_app
from pipelines.review.case import Reckon
from pipelines.review.serve import server_config
from tests.pipelines.review.sample import ID, KEY, Bench, build

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass(frozen=True)
class Site:
    """The review pages, answering on a port of this computer."""

    bench: Bench
    root: str
    app: FastAPI

    @property
    def page(self) -> str:
        return f"{self.root}/inspections/{ID}"


@pytest.fixture(scope="session")
def chromium():
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        pytest.skip("no Chromium on this computer")
    with playwright.sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@contextmanager
def serving(bench: Bench, folder: Path, reckon: Reckon | None = None) -> Iterator[Site]:
    """The pages of a data folder, on a port of this computer, with an inbox for phones in ``folder``."""
    phones = ReviewSettings(inbox=folder / "phones")
    settings = bench.settings.model_copy(update={"review": phones})
    app = create_app(bench.store, bench.home, settings, key=KEY, reckon=reckon)
    config = server_config(app)
    config.port = 0
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    deadline = time.monotonic() + 60
    while not server.started and thread.is_alive() and time.monotonic() < deadline:
        time.sleep(0.02)
    try:
        if not server.started:
            pytest.fail("The pages did not begin to answer within a minute, or their server ended.")
        port = server.servers[0].sockets[0].getsockname()[1]
        yield Site(bench=bench, root=f"http://127.0.0.1:{port}", app=app)
    finally:
        server.should_exit = True
        thread.join(20)
        bench.store.close()


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with serving(build(tmp_path), tmp_path) as answering:
        yield answering


@pytest.fixture
def open_page(chromium, site):
    """Opens a page of a given width, with the cookie of the start-up link.

    A script error, a console error or a refused resource fails the test; with ``away`` the server may be."""
    contexts, troubles = [], []

    def opened(width: int = 1280, *, height: int = 900, link: bool = True, away: bool = False, **options):
        context = chromium.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: troubles.append(f"script: {error}"))
        # A refused form (422) or a conflict (409) is meant; Chromium notes it on the console as well.
        meant = ("status of 4", "status of 5", "net::ERR_") if away else ("status of 4",)
        page.on(
            "console",
            lambda m: (
                m.type == "error"
                and not any(text in m.text for text in meant)
                and troubles.append(f"console: {m.text}")
            ),
        )
        page.set_default_timeout(30_000)  # computers that do much else answer late
        if link:
            page.goto(f"{site.root}/?key={KEY}")
            assert page.url == f"{site.root}/"
        return page

    yield opened
    for context in contexts:
        context.close()
    assert troubles == []
