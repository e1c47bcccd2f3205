"""A reviewer's day in a real browser: forty findings by keyboard, sound speed, splitting, signing in."""

import re

import pytest
from argon2 import PasswordHasher

from models.people import Person
from tests.pipelines.review.sample import AT, ID, make_large, place, write_gauge

pytestmark = pytest.mark.browser

SECONDS_A_KEY = 1.5
"""A person's pace, listening and looking included for what is plain."""
PASSWORD = "a long enough secret"
SOUND_S = 4.0
"""Listening to the words of a doubtful finding before deciding about it."""


def _until(page, script: str, argument=None) -> None:
    """Wait for a script to say true: Playwright's own waiting needs an eval, which the pages refuse."""
    for _ in range(400):
        if page.evaluate(script, argument):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"never true: {script}")


def test_forty_findings_take_under_three_minutes_by_keyboard(site, open_page) -> None:
    record = make_large(site.bench, 40)
    doubtful = sum(1 for f in record.findings if f.attention)
    assert doubtful >= 16
    page = open_page()
    page.goto(site.page)
    page.get_by_label("Your name").fill("Ana Cole")
    page.keyboard.press("Enter")
    page.wait_for_url("**said=name*")

    keys = 0

    def press(key: str) -> None:
        nonlocal keys
        keys += 1
        page.keyboard.press(key)

    press("j")
    for number in range(100, 140):
        _until(page, "id => document.activeElement.id === id", f"{place(number)}")
        press("c")
        following = f"{place(number + 1)}" if number < 139 else "sign"
        page.wait_for_url(f"**#{following}")
    for key in ("Tab", "Tab", "Enter"):  # the name stands there already
        press(key)
    page.get_by_role("heading", name="Signed by Ana Cole").wait_for()
    assert len(site.bench.store.events(ID)) == 40
    seconds = keys * SECONDS_A_KEY + doubtful * SOUND_S
    print(f"{keys} keys, {doubtful} sounds heard: {seconds:.0f} s")
    assert seconds < 180


def test_the_speed_of_the_sound_is_chosen_and_remembered(site, open_page) -> None:
    page = open_page()
    page.goto(site.page)
    rates = "[...new Set([...document.querySelectorAll('audio')].map(a => a.playbackRate))].join()"
    assert page.evaluate(rates) == "1"
    page.get_by_label("Sound speed").select_option("0.75")
    assert page.evaluate(rates) == "0.75"
    page.reload()
    assert page.evaluate(rates) == "0.75"
    page.locator("h1").click()  # out of the list, so that keys are keys
    for speed in ("1", "1.25", "1.5", "0.75"):
        page.keyboard.press("s")
        assert page.evaluate(rates) == speed
    assert page.get_by_label("Sound speed").input_value() == "0.75"
    assert page.evaluate("document.querySelector('audio').preservesPitch")


def test_a_finding_is_split_and_merged_again_with_keys_and_clicks(site, open_page) -> None:
    page = open_page(360)
    page.goto(f"{site.page}?order=attention")
    page.get_by_label("Your name").fill("Ana Cole")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**said=name*")
    page.goto(f"{site.page}#{place(3)}")
    page.keyboard.press("p")
    page.wait_for_url("**/arrange")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_label("IMG_1.jpg, read as 13.5").check()
    page.get_by_label("The new finding reads").select_option("13.5 psi")
    page.get_by_role("button", name="Split").click()
    page.wait_for_url("**said=split*")
    assert page.locator("article").count() == 7
    page.locator("article").nth(2).get_by_role("link", name="Photos, split, merge").click()
    page.get_by_role("button", name="Put it back as it was drafted").click()
    page.wait_for_url("**said=restore*")
    assert page.locator("article").count() == 6
    assert [e.kind for e in site.bench.store.events(ID)] == ["split", "restore"]


def test_doubts_first_stays_while_deciding(site, open_page) -> None:
    page = open_page()
    page.goto(site.page)
    page.get_by_label("Your name").fill("Ana Cole")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**said=name*")
    page.get_by_role("link", name="those with a doubt first").click()
    page.wait_for_url("**order=attention")
    page.keyboard.press("j")
    page.keyboard.press("c")
    page.wait_for_url(f"**order=attention#{place(4)}")
    page.keyboard.press("e")
    page.wait_for_url("**/edit?order=attention")
    page.get_by_label("Value").fill("6/32")
    page.get_by_label("Reason").fill("measured again")
    page.get_by_role("button", name="Keep the correction").click()
    page.wait_for_url(f"**order=attention#{place(5)}")


@pytest.mark.parametrize("script", [True, False])
def test_a_technician_sends_photos_from_a_phone(site, open_page, tmp_path, script: bool) -> None:
    digest = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1).hash(PASSWORD)
    site.bench.store.people.add(Person(name="Jo Vik", role="technician", added_at=AT), digest)
    page = open_page(360, link=False, java_script_enabled=script, has_touch=True)
    page.goto(f"{site.root}/bay")
    page.get_by_label("Name").fill("Jo Vik")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="send for this truck").first.click()
    truck = page.get_by_role("radio", name="Unit 417")
    assert truck.is_checked()
    photo = tmp_path / "image.jpg"
    write_gauge(photo, "6.02")
    (tmp_path / "notes.txt").write_text("<script>alert(1)</script>")
    page.get_by_label("Take a photo").set_input_files(photo)
    page.get_by_label("Choose what the phone has already").set_input_files([tmp_path / "notes.txt"])
    page.get_by_role("button", name="Send").click()
    page.get_by_role("heading", name=re.compile("1 of 2 arrived for (Unit )?417")).wait_for()
    page.get_by_text("notes.txt is not of a kind that is read").wait_for()
    assert truck.is_checked()  # ready for the next one
    (arrived,) = (tmp_path / "phones" / "417").iterdir()
    assert arrived.name.startswith("image-")
    assert arrived.read_bytes() == photo.read_bytes()
    box = page.get_by_role("button", name="Send", exact=True).bounding_box()
    assert box["height"] >= 48  # for a glove
    assert box["width"] >= 300


def test_a_shop_signs_in_and_out(site, open_page) -> None:
    digest = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1).hash(PASSWORD)
    for name, role in (("Ana Cole", "reviewer"), ("Jo Vik", "technician")):
        site.bench.store.people.add(
            Person.model_validate({"name": name, "role": role, "added_at": AT}), digest
        )
    page = open_page(360, link=False)
    page.goto(site.page)
    page.wait_for_url(re.compile(r"/login\?back=/inspections/"))
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_label("Name").fill("Ana Cole")
    page.get_by_label("Password").fill("wrong")
    page.keyboard.press("Enter")
    page.get_by_text("do not belong together").wait_for()
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(site.page)
    assert page.get_by_role("button", name="Confirm the 2 without a doubt").is_visible()
    assert page.context.cookies()[0]["httpOnly"]
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/login")
    page.get_by_label("Name").fill("Jo Vik")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Unit 417").click()
    page.get_by_role("heading", name="Unit 417").wait_for()
    assert page.locator("main button").count() == 0
