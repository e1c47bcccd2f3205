"""Every page that the routes of the review service answer with, in every way in which people look at it.

Each is opened in Chromium on a phone, on a desk, zoomed and with large text, and asked for what a reader
needs: nothing to scroll sideways for, one heading, nothing that the pages' own policy refuses, and nothing
for the accessibility checker (axe-core) to find. 640 wide is what zoom of 200 % leaves of 1280; large text is
200 % (WCAG 2.2, 1.4.4 and 1.4.10).

The routes themselves are the list: one without a line in the tables here fails.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from fastapi.routing import iter_route_contexts

from models.events import ReviewEvent
from models.people import Person
from tests.browser.conftest import Site, serving
from tests.pipelines.review.sample import AT, ID, build, finding_id, unknown_hash, write_gauge
from tests.pipelines.review.shop import BEFORE, SIGNED, WAITING, furnish, reckon

pytestmark = pytest.mark.browser

PASSWORD = "a long enough secret"
AT_INSPECTION = "/inspections/{id}"
AT_FINDING = "/inspections/{id}/findings/{finding}"
THIRD = f"/inspections/{ID}/findings/{finding_id(3)}"

SHOWN: dict[str, dict[str, str]] = {
    "/": {"list": "/", "list, turned": "/?start=1"},
    AT_INSPECTION: {
        "inspection": f"/inspections/{ID}",
        "doubts first": f"/inspections/{ID}?order=attention",
        "signed": f"/inspections/{SIGNED}",
        "amended": f"/inspections/{BEFORE}",
        "being drafted": f"/inspections/{WAITING}",
        "no such finding": f"/inspections/{ID}?edit=nothing",
    },
    f"{AT_FINDING}/edit": {"correct": f"{THIRD}/edit"},
    f"{AT_FINDING}/reject": {"reject": f"{THIRD}/reject"},
    f"{AT_FINDING}/arrange": {"arrange": f"{THIRD}/arrange"},
    f"{AT_INSPECTION}/add": {"add": f"/inspections/{ID}/add"},
    "/bay": {"bay": "/bay"},
    "/bay/send": {"send": f"/bay/send?truck={ID}"},
    "/deliveries": {"deliveries": "/deliveries"},
    "/accuracy": {"accuracy": "/accuracy"},
    "/login": {"sign in": "/login"},
}
"""Route -> the pages it gives, by a name of ours."""

NO_PAGES = {
    "/audio/{sha256}": "/audio/{audio}",
    "/photo/{sha256}": "/photo/{photo}",
    "/photo/{sha256}/crop": "/photo/{photo}/crop?box=0,0,10,10",
    "/api/records": "/api/records",
    "/api/records/{id}": f"/api/records/{SIGNED}",
    "/api/records/{id}/media/{sha256}": f"/api/records/{SIGNED}/media/{{photo}}",
    "/api/record.schema.json": "/api/record.schema.json",
    "/api/openapi.json": "/api/openapi.json",
    "/api/metrics": "/api/metrics",
    "/health": "/health",
    "/health/live": "/health/live",
    "/static": "/static/review.css",
    "/favicon.ico": "/favicon.ico",
}
"""Routes that answer with something else than a page, and an address of each that must not give HTML."""


@dataclass(frozen=True)
class Look:
    """How somebody looks: the window in CSS pixels, how many dots make one, and how large text is."""

    width: int
    height: int
    dots: int = 1
    text: int = 100


LOOKS = {
    "phone": Look(360, 740, dots=3),
    "desk": Look(1280, 900),
    "desk, zoomed to 200 %": Look(640, 450, dots=2),
    "desk, text of 200 %": Look(1280, 900, text=200),
    "phone, text of 200 %": Look(360, 740, dots=3, text=200),
}

# The widest and the narrowest: every page is seen in all ways, but its answers need not be.
extremes = pytest.mark.parametrize(
    "look", [LOOKS["desk"], LOOKS["phone, text of 200 %"]], ids=["desk", "phone"]
)

OUTSIDE = """[...document.querySelectorAll('button, a, input, select, summary, audio')]
    .filter(e => e.checkVisibility() && !e.closest('.hidden, .skip')).filter(e => {
        const box = e.getBoundingClientRect(); return box.left < -1 || box.right > innerWidth + 1; })
    .map(e => e.outerHTML.slice(0, 80))"""
"""Controls that lie beside the page."""
CUT_OFF = """[...document.querySelectorAll('main *, .bar *')]
    .filter(e => e.checkVisibility() && !e.closest('.hidden, input, select, audio, svg'))
    .filter(e => e.clientWidth && e.scrollWidth > e.clientWidth + 1)
    .filter(e => getComputedStyle(e).overflowX !== 'visible')
    .map(e => e.outerHTML.slice(0, 80))"""
"""Texts of which a part is hidden; what a field holds may be longer than the field."""

SQUEEZED = """[...document.querySelectorAll('main p, main li, main dd, main blockquote, main h2, main b')]
    .filter(e => e.checkVisibility() && !e.closest('.hidden') && e.textContent.trim().length > 12)
    .filter(e => { const range = document.createRange(); range.selectNodeContents(e);
        return range.getBoundingClientRect().width < 3 * parseFloat(getComputedStyle(e).fontSize); })
    .map(e => e.outerHTML.slice(0, 80))"""
"""Sentences in a column of a few letters."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    bench = build(tmp_path)
    furnish(bench)
    with serving(bench, tmp_path, reckon) as answering:
        yield answering


class Reader:
    """Looks at pages in one way and keeps what is wrong with them."""

    def __init__(self, page, look: Look) -> None:
        axe = pytest.importorskip("axe_playwright_python.base", reason="the checker is not installed")
        self.page, self.look, self.wrong = page, look, []
        self._axe = axe.AXE_SCRIPT
        # Straight to the browser, so that the pages' policy, which stays in force, is not asked.
        self._browser = page.context.new_cdp_session(page)

    def go(self, name: str, address: str) -> None:
        self.page.goto(address)
        self.check(name)

    def check(self, name: str) -> None:
        self.page.wait_for_load_state("networkidle")
        if self.look.text != 100:
            self.page.evaluate(f"document.documentElement.style.fontSize = '{self.look.text}%'")
        self._note(name, self._measured())
        if kept := os.environ.get("DROPLIGHT_SCREENSHOTS"):
            place = Path(kept) / f"{self.look.width}-{self.look.text}-{name.replace(' ', '-')}.png"
            self.page.screenshot(path=place, full_page=True, timeout=60_000)
        self._note(name, self._found_by_checker())

    def _note(self, name: str, found: list[str]) -> None:
        self.wrong.extend(f"{name}: {sentence}" for sentence in found)

    def _measured(self) -> list[str]:
        wide = self.page.evaluate("document.documentElement.scrollWidth")
        headings = self.page.locator("h1").count()
        found = [f"{wide} px wide"] if wide > self.look.width else []
        found += [f"{headings} main headings"] if headings != 1 else []
        found += [f"beside the page: {e}" for e in self.page.evaluate(OUTSIDE)]
        found += [f"squeezed: {e}" for e in self.page.evaluate(SQUEEZED)]
        return found + [f"cut off: {e}" for e in self.page.evaluate(CUT_OFF)]

    def _found_by_checker(self) -> list[str]:
        self._run(self._axe, wait=False)
        options = "{resultTypes: ['violations'], rules: {'target-size': {enabled: true}}}"
        violations = self._run(f"axe.run({options}).then(found => found.violations)")
        return [f"{v['id']} ({v['impact']}): {v['help']}: {v['nodes'][0]['html'][:120]}" for v in violations]

    def _run(self, script: str, *, wait: bool = True):
        answer = self._browser.send(
            "Runtime.evaluate", {"expression": script, "awaitPromise": wait, "returnByValue": wait}
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")


@pytest.fixture(params=LOOKS.values(), ids=LOOKS.keys())
def look(request) -> Look:
    return request.param


@pytest.fixture
def reader(open_page, look: Look) -> Reader:
    # Answers with an error are pages too; Chromium notes their status on the console.
    page = open_page(look.width, height=look.height, device_scale_factor=look.dots, away=True)
    return Reader(page, look)


def test_every_route_is_known_here(site) -> None:
    asked = {r.path for r in iter_route_contexts(site.app.routes) if "GET" in (r.methods or {"GET"})}
    assert asked == SHOWN.keys() | NO_PAGES.keys()


def test_the_routes_without_pages_give_none(site, open_page) -> None:
    page = open_page()
    for address in NO_PAGES.values():
        where = address.format(audio=site.bench.audio.sha256, photo=site.bench.photo.sha256)
        answer = page.request.get(f"{site.root}{where}")
        assert answer.status < 300, where
        assert "html" not in answer.headers.get("content-type", ""), where


def test_every_page_can_be_read(site, reader: Reader) -> None:
    for route, pages in SHOWN.items():
        for name, address in pages.items():
            if route != "/login":  # without accounts it leads to the list
                reader.go(name, f"{site.root}{address}")
    reader.go("no such page", f"{site.root}/nowhere")
    assert reader.wrong == []


@extremes
def test_every_answer_to_a_form_can_be_read(site, reader: Reader, tmp_path: Path) -> None:
    page = reader.page
    page.goto(site.page)
    page.get_by_label("Your name").fill("Ana Cole")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**said=name*")
    page.get_by_role("button", name="Sign the record").click()
    page.locator(".errors").wait_for()
    reader.check("signed too early")
    page.locator(".history summary").click()
    reader.check("history")
    for name, button in (("edit", "Keep the correction"), ("reject", "Reject it")):
        page.goto(f"{site.root}{THIRD}/{name}")
        page.locator("#reason").fill(" ")
        page.get_by_role("button", name=button).click()
        page.locator(".errors").wait_for()
        reader.check(f"{name}, not done")
    page.goto(f"{site.root}{THIRD}/reject")
    row = site.bench.store.inspection(ID)
    event = ReviewEvent(kind="confirm", finding=finding_id(3), by="Jo Vik", at=AT)
    site.bench.store.append_event(ID, event, row.version)
    page.locator("#reason").fill("not this truck")
    page.get_by_role("button", name="Reject it").click()
    page.locator("#conflict-title").wait_for()
    reader.check("conflict")
    page.goto(f"{site.root}/bay/send?truck={ID}")
    photo = tmp_path / "a photo with a very long name, as some telephones give them to what they take.jpg"
    write_gauge(photo, "6.02")
    page.get_by_label("Take a photo").set_input_files(photo)
    page.get_by_role("button", name="Send", exact=True).click()
    page.get_by_role("heading", name="1 of 1 arrived").wait_for()
    reader.check("arrived")
    page.route("**/bay/send", lambda route: route.fulfill(status=503))
    page.get_by_label("Take a photo").set_input_files(photo)
    page.get_by_role("button", name="Send", exact=True).click()
    page.get_by_role("heading", name="Kept on this phone").wait_for()
    reader.check("kept")
    assert reader.wrong == []


@extremes
def test_what_is_shown_to_who_is_not_let_in_can_be_read(site, reader: Reader) -> None:
    page = reader.page
    page.context.clear_cookies()
    reader.go("closed", site.root)
    digest = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1).hash(PASSWORD)
    site.bench.store.people.add(Person(name="Jo Vik", role="technician", added_at=AT), digest)
    for name, address in SHOWN["/login"].items():
        reader.go(name, f"{site.root}{address}")
    for name, password in (("wrong password", "wrong"), ("a technician's list", PASSWORD)):
        page.get_by_label("Name").fill("Jo Vik")
        page.get_by_label("Password").fill(password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/" if password == PASSWORD else "**/login")
        reader.check(name)
    reader.go("a technician's inspection", f"{site.root}/inspections/{ID}")
    reader.go("no such file", f"{site.root}/photo/{unknown_hash()}")
    assert reader.wrong == []


def test_the_reader_hears_what_is_wrong(site, open_page) -> None:
    page = open_page(360)
    page.goto(site.root)
    page.evaluate("document.querySelector('h1').outerHTML += '<h1 id=tray>x</h1>'")
    page.evaluate("document.querySelector('main').append(document.createElement('button'))")
    page.evaluate("document.querySelector('main').style.width = '500px'")
    page.evaluate("document.querySelector('.said').textContent = 'said in a few letters'")
    page.evaluate("document.querySelector('.said').style.width = '2ch'")
    reader = Reader(page, Look(360, 740))
    reader.check("wrong on purpose")
    text = "\n".join(reader.wrong)
    for part in ("500 px wide", "2 main headings", "button-name", "squeezed: <p"):
        assert part in text, text
