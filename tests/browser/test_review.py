import json
import re
from datetime import datetime
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from models.people import Person
from models.signing import verify
from pipelines.delivery.export import deliver
from pipelines.delivery.schema import record_schema
from tests.pipelines.review.sample import AT, ID, finding_id, place

pytestmark = pytest.mark.browser


def _finding(page, number: int):
    return page.locator(f"article:has(#{place(number)})")


def _give_name(page, name: str = "Ana Cole") -> None:
    page.get_by_label("Your name").fill(name)
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**said=name*")


def _expect(locator, text: str) -> None:
    """Wait for a text: a click returns before the next page is there."""
    for _ in range(400):
        if locator.count() and text in locator.first.inner_text():
            return
        locator.page.wait_for_timeout(25)
    raise AssertionError(f"never said: {text}")


def _expect_state(page, number: int, text: str) -> None:
    _expect(_finding(page, number).locator(".state"), text)


def _focused_finding(page) -> str:
    return page.evaluate("document.activeElement.closest('article')?.querySelector('h2').id ?? ''")


def _until(page, script: str, argument=None) -> None:
    """Wait for a script to say true: Playwright's own waiting needs an eval, which the pages refuse."""
    for _ in range(400):
        if page.evaluate(script, argument):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"never true: {script}")


def _check_delivered(site, out: Path) -> dict:
    path, table = deliver(site.bench.store, out)
    data = json.loads(path.read_text(encoding="utf-8"))
    assert list(Draft202012Validator(record_schema()).iter_errors(data)) == []
    assert verify(data)
    assert datetime.fromisoformat(data["signature"]["at"]).tzinfo is not None
    assert table.read_bytes().count(b"\r\n") == 1 + sum(
        f["review"]["state"] != "rejected" for f in data["findings"]
    )
    return data


def test_from_the_list_to_the_delivered_record(site, open_page, tmp_path: Path) -> None:
    page = open_page()
    page.goto(site.root)
    page.get_by_role("link", name="Unit 417").click()
    _give_name(page)

    # signing too early names what is open, and puts the focus there
    page.get_by_label("Name that signs").fill("Ana Cole")
    page.get_by_role("button", name="Sign the record").click()
    _until(page, "document.activeElement.className === 'errors'")
    page.get_by_role("link", name="Decide about finding 3").click()
    page.wait_for_url(f"**#{place(3)}")

    _finding(page, 3).get_by_role("link", name="Correct").click()
    page.get_by_label("Value").fill("13.50")
    page.get_by_label("Reason").fill("the photo is right")
    page.get_by_role("button", name="Keep the correction").click()
    _expect_state(page, 3, "corrected")
    _expect(page.get_by_role("status"), "Corrected.")

    page.get_by_role("button", name="Confirm the 2 without a doubt").click()
    _expect_state(page, 1, "confirmed")
    _expect_state(page, 4, "not decided")
    for number in (4, 5):
        _finding(page, number).get_by_role("button", name="Confirm").click()
        _expect_state(page, number, "confirmed")
    _finding(page, 6).get_by_role("link", name="Reject").click()
    page.get_by_label("Why does this not belong").fill("which battery?")
    page.get_by_role("button", name="Reject it").click()
    page.wait_for_url("**#sign")
    page.get_by_role("button", name="Sign the record").click()
    page.get_by_role("heading", name="Signed by Ana Cole").wait_for()
    assert page.locator("main button").all_inner_texts() == ["Amend it: a new draft that puts it right"]

    data = _check_delivered(site, tmp_path / "out")
    third = data["findings"][2]
    assert (third["reading"]["exact"], third["review"]["state"]) == ("13.50", "corrected")
    assert third["review"]["reason"] == "the photo is right"
    assert third["verdict"]["word"] == "not judged"
    assert data["findings"][5]["review"]["state"] == "rejected"


def test_the_whole_review_with_keys_alone(site, open_page, tmp_path: Path) -> None:
    page = open_page()
    press = page.keyboard.press
    page.goto(site.page)
    for _ in range(2):  # past the skip link and the mark
        press("Tab")
    press("Tab")
    page.keyboard.type("Jack Rec")  # the letters of shortcuts do nothing while typing
    press("Enter")
    page.wait_for_url("**said=name")
    assert page.get_by_label("Your name").input_value() == "Jack Rec"

    press("?")
    assert page.get_by_role("dialog", name="Keys").is_visible()
    press("c")
    press("Escape")
    assert site.bench.store.events(ID) == []

    press("j")
    assert _focused_finding(page) == f"{place(1)}"
    press("j")
    press("k")
    assert _focused_finding(page) == f"{place(1)}"
    for number in (1, 2):
        press("c")
        page.wait_for_url(f"**#{place(number + 1)}")
        _until(page, "id => document.activeElement.id === id", f"{place(number + 1)}")
    press("1")  # the first other value
    page.wait_for_url(f"**#{place(4)}")
    _expect_state(page, 3, "corrected")
    assert "13.5 psi" in _finding(page, 3).inner_text()
    press("e")
    page.wait_for_url("**/edit")
    page.get_by_label("Value").focus()
    press("Control+a")
    page.keyboard.type("6/32")
    page.get_by_label("Reason").focus()
    page.keyboard.type("measured again, recje 123")
    press("Enter")
    page.wait_for_url(f"**#{place(5)}")
    assert "6/32 in" in _finding(page, 4).inner_text()
    press("c")
    page.wait_for_url(f"**#{place(6)}")
    press("r")
    page.wait_for_url("**/reject")
    _until(page, "document.activeElement.id === 'reason'")
    page.keyboard.type("which battery?")
    press("Enter")
    page.wait_for_url("**#sign")
    assert page.evaluate("document.activeElement.id") == "sign"
    press("Tab")
    assert page.evaluate("document.activeElement.id") == "by"
    press("Enter")
    page.wait_for_url("**said=sign")
    data = _check_delivered(site, tmp_path / "out")
    assert data["signature"]["by"] == "Jack Rec"
    assert [f["review"]["state"] for f in data["findings"]] == [
        "confirmed",
        "confirmed",
        "corrected",
        "corrected",
        "confirmed",
        "rejected",
    ]


def test_shortcuts_can_be_switched_off_and_stay_off(site, open_page) -> None:
    page = open_page()
    page.goto(site.page)
    _give_name(page)
    page.get_by_label("Single-key shortcuts").uncheck()
    page.reload()
    assert not page.get_by_label("Single-key shortcuts").is_checked()
    page.locator("body").press("j")
    page.locator("body").press("c")
    page.locator("body").press("?")
    assert _focused_finding(page) == ""
    assert not page.get_by_role("dialog").is_visible()
    assert site.bench.store.events(ID) == []
    page.get_by_label("Single-key shortcuts").check()
    page.get_by_label("Single-key shortcuts").press("j")
    assert _focused_finding(page) == f"{place(1)}"


def test_sound_starts_before_the_words_and_stops_behind_them(site, open_page) -> None:
    page = open_page()
    page.goto(f"{site.page}#{place(2)}")
    audio = _finding(page, 2).locator("audio")
    start, end = map(float, audio.get_attribute("src").split("#t=")[1].split(","))
    assert (start, end) == (2.0, 5.7)
    _until(page, f"document.activeElement.closest('#{place(2)}') !== null")
    page.keyboard.press("Space")
    handle = audio.element_handle()
    _until(page, "a => !a.paused && a.currentTime > 0", handle)
    assert start <= audio.evaluate("a => a.currentTime") < end
    page.keyboard.press("Space")
    assert audio.evaluate("a => a.paused")
    # close to the end it stops by itself
    audio.evaluate("(a, t) => { a.currentTime = t; return a.play(); }", end - 0.4)
    _until(page, "a => a.paused", handle)
    assert audio.evaluate("a => a.currentTime") == pytest.approx(end, abs=0.6)


def test_the_whole_review_without_javascript(site, open_page, tmp_path: Path) -> None:
    page = open_page(java_script_enabled=False)
    page.goto(site.root)
    page.get_by_role("link", name="Unit 417").click()
    assert page.get_by_label("Single-key shortcuts").count() == 0 or not (
        page.get_by_label("Single-key shortcuts").is_visible()
    )
    _give_name(page)
    page.get_by_role("button", name="Confirm the 2 without a doubt").click()
    _finding(page, 3).get_by_role("button", name="Take 13.5 psi").click()
    page.wait_for_url(f"**#{place(4)}")
    for number in (4, 5):
        _finding(page, number).get_by_role("button", name="Confirm").click()
        _expect_state(page, number, "confirmed")
    _finding(page, 5).get_by_role("button", name="Undo").click()
    _expect_state(page, 5, "not decided")
    _finding(page, 5).get_by_role("button", name="Confirm").click()
    _expect_state(page, 5, "confirmed")
    _finding(page, 6).get_by_role("link", name="Correct").click()
    page.get_by_label("Part", exact=True).select_option("battery")
    page.get_by_label("Reason").fill("the only one photographed")
    page.get_by_role("button", name="Keep the correction").click()
    page.wait_for_url("**#sign")
    page.get_by_role("link", name="Add a finding by hand").click()
    page.get_by_label("Part", exact=True).select_option("hitch")
    page.get_by_label("loose").check()
    page.get_by_label("Reason").fill("seen on the way out")
    page.get_by_role("button", name="Add the finding").click()
    page.wait_for_url("**said=add*")
    assert "added by hand" in page.locator("article").last.inner_text()
    page.get_by_role("button", name="Sign the record").click()
    page.wait_for_url("**said=sign*")
    data = _check_delivered(site, tmp_path / "out")
    assert [f["component"] for f in data["findings"][-2:]] == ["battery", "hitch"]
    assert data["findings"][-1]["review"]["state"] == "added"


def _pages(site) -> dict[str, str]:
    edit = f"{site.page}/findings/{finding_id(3)}/edit"
    arrange = f"{site.page}/findings/{finding_id(3)}/arrange"
    reject = f"{site.page}/findings/{finding_id(3)}/reject"
    pages = {"list": site.root, "inspection": site.page, "correct": edit, "add": f"{site.page}/add"}
    pages |= {"arrange": arrange, "reject": reject, "send": f"{site.root}/bay/send?truck={ID}"}
    return pages | {name: f"{site.root}/{name}" for name in ("bay", "deliveries", "accuracy")}


@pytest.mark.parametrize("width", [360, 640, 1280])
def test_nothing_is_wider_than_the_page(site, open_page, tmp_path: Path, width: int) -> None:
    # 640 is what a 1280 window leaves at 200 % zoom
    page = open_page(width)
    for name, address in _pages(site).items():
        page.goto(address)
        page.wait_for_load_state("networkidle")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        page.screenshot(path=tmp_path / f"{name}.png", full_page=True)
    outside = """[...document.querySelectorAll('main button, main a, main input, main select')]
        .filter(e => e.checkVisibility() && !e.closest('.hidden')).map(e => e.getBoundingClientRect())
        .filter(b => b.left < 0 || b.right > innerWidth).length"""
    assert page.evaluate(outside) == 0


def test_focus_can_be_seen_everywhere(site, open_page) -> None:
    page = open_page()
    page.goto(site.page)
    for _ in range(25):
        page.keyboard.press("Tab")
        style = page.evaluate(
            "(s => [s.outlineStyle, parseFloat(s.outlineWidth)])(getComputedStyle(document.activeElement))"
        )
        tag = page.evaluate("document.activeElement.tagName")
        assert tag in {"BODY", "AUDIO"} or (style[0] != "none" and style[1] >= 2), tag


def test_accessibility_checker_finds_nothing(site, open_page) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="the checker is not installed")
    # the checker puts its script into the page, which the pages' own policy would refuse
    page = open_page(bypass_csp=True)
    addresses = {**_pages(site), "error": f"{site.root}/nowhere"}
    found = []

    def check(name: str) -> None:
        response = axe.Axe().run(page).response
        found.extend(f"{name}: {v['id']} ({v['impact']}): {v['help']}" for v in response["violations"])

    for name, address in addresses.items():
        page.goto(address)
        check(name)
    page.goto(site.page)
    _give_name(page)
    page.keyboard.press("?")
    check("keys")
    page.keyboard.press("Escape")
    _finding(page, 1).get_by_role("button", name="Confirm").click()
    _expect_state(page, 1, "confirmed")
    _finding(page, 6).get_by_role("button", name="Confirm").click()
    page.locator(".errors").wait_for()
    check("refused")
    page.locator(".history summary").click()
    check("history")
    page.context.clear_cookies()
    page.goto(site.root)
    check("closed")
    site.bench.store.people.add(Person(name="Ana Cole", role="reviewer", added_at=AT), "")
    page.goto(site.root)
    page.get_by_label("Name").fill("Ana Cole")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Sign in").click()
    page.locator(".errors").wait_for()
    check("signing in")
    assert found == []


def test_the_page_asks_nobody_else(site, open_page) -> None:
    page = open_page()
    asked: set[str] = set()
    page.on("request", lambda request: asked.add(re.sub(r"^(https?://[^/]+).*", r"\1", request.url)))
    for address in _pages(site).values():
        page.goto(address)
        page.wait_for_load_state("networkidle")
    assert asked == {site.root}


def test_another_site_cannot_press_a_button(site, open_page) -> None:
    page = open_page()
    page.goto(site.page)
    _give_name(page)
    said = _finding(page, 1).get_by_role("button", name="Confirm").get_attribute("value")
    other = site.root.replace("127.0.0.1", "localhost")  # another origin that leads to the same pages
    page.route(
        "**/trap",
        lambda route: route.fulfill(
            content_type="text/html",
            body=f"<form method=post action='{site.page}/decide'>"
            f"<input name=do value='{said}'><button>Win</button></form>",
        ),
    )
    page.goto(f"{other}/trap")
    page.get_by_role("button", name="Win").click()
    _expect(page.locator("body"), "came from another site")
    assert site.bench.store.events(ID) == []
