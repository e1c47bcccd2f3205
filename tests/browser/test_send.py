"""What a phone cannot send is kept on it, sent again by itself, and arrives once."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from capture.ingest import ingest, scan
from tests.pipelines.review.sample import ID, write_gauge

pytestmark = pytest.mark.browser

POSTS = "**/bay/send"


@pytest.fixture
def photos(tmp_path: Path) -> list[Path]:
    made = [tmp_path / "image.jpg", tmp_path / "other.jpg"]
    for number, path in enumerate(made):
        write_gauge(path, f"6.0{number}")
    return made


@pytest.fixture
def phone(site, open_page):
    page = open_page(360, away=True, has_touch=True)
    page.goto(f"{site.root}/bay/send?truck={ID}")
    return page


def _send(page, *files: Path) -> None:
    page.get_by_label("Choose what the phone has already").set_input_files(list(files))
    page.get_by_role("button", name="Send", exact=True).click()


def _waiting(page, count: int) -> None:
    page.get_by_role("heading", name=f"Kept on this phone: {count} waiting").wait_for()


def _nothing_kept(page) -> None:
    page.locator(".kept").wait_for(state="hidden")


def _no_posts(page) -> None:
    """The server goes away for what is sent; pages still open, so that they can be loaded anew."""
    page.route(POSTS, lambda route: route.abort() if route.request.method == "POST" else route.continue_())


def _captures(site, tmp_path: Path) -> list[str]:
    """Take in what lies in the inbox; names of all captures that came from there."""
    inbox = tmp_path / "phones"
    for path in scan(inbox) if inbox.exists() else []:
        ingest(path, inbox, site.bench.store, site.bench.home, datetime.now(UTC))
    return sorted(c.original_name.split("-")[0] for c in site.bench.store.captures() if c.folder == "417")


def test_without_a_network_files_are_kept_and_sent_when_it_is_back(site, phone, photos, tmp_path) -> None:
    phone.context.set_offline(True)
    _send(phone, *photos)
    _waiting(phone, 2)
    phone.get_by_text("The shop's computer cannot be reached").wait_for()
    assert phone.get_by_role("status").first.inner_text() == "Kept on this phone, 2 waiting."
    assert _captures(site, tmp_path) == []
    phone.context.set_offline(False)  # nobody touches the page
    phone.get_by_role("heading", name="2 of 2 arrived for Unit 417").wait_for()
    _nothing_kept(phone)
    assert _captures(site, tmp_path) == ["image", "other"]


def test_what_is_kept_outlives_a_reload(site, phone, photos, tmp_path) -> None:
    _no_posts(phone)
    _send(phone, photos[0])
    _waiting(phone, 1)
    phone.reload()
    _waiting(phone, 1)
    phone.goto(f"{site.root}/bay")  # the other page for the bay says so too
    _waiting(phone, 1)
    phone.goto(f"{site.root}/bay/send")
    assert _captures(site, tmp_path) == []
    _waiting(phone, 1)
    phone.unroute(POSTS)
    phone.reload()  # sends by itself, for the truck that was chosen
    phone.get_by_role("heading", name="1 of 1 arrived for Unit 417").wait_for()
    _nothing_kept(phone)
    phone.reload()
    phone.wait_for_load_state("networkidle")
    assert not phone.locator(".kept").is_visible()
    assert _captures(site, tmp_path) == ["image"]


@pytest.mark.parametrize("taken_in", [False, True])
def test_when_the_answer_is_lost_the_file_is_sent_again_and_is_one_capture(
    site, phone, photos, tmp_path, taken_in: bool
) -> None:
    def lose_the_answer(route) -> None:
        route.fetch()
        route.abort()

    phone.route(POSTS, lose_the_answer)
    _send(phone, photos[0])
    phone.get_by_text("The shop's computer cannot be reached").wait_for()
    assert len(scan(tmp_path / "phones")) == 1  # it did arrive
    if taken_in:
        assert _captures(site, tmp_path) == ["image"]
    phone.unroute(POSTS)
    phone.get_by_role("button", name="Send again now").click()
    _nothing_kept(phone)
    assert len(scan(tmp_path / "phones")) == 1
    assert _captures(site, tmp_path) == ["image"]


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 503, "body": "not now"},
        {"status": 200, "body": "<h1>Welcome to the guest network</h1>", "content_type": "text/html"},
    ],
)
def test_no_other_answer_than_that_it_is_stored_removes_a_file(
    site, phone, photos, tmp_path, answer: dict
) -> None:
    phone.route(POSTS, lambda route: route.fulfill(**answer))
    _send(phone, photos[0])
    # The list says "1 waiting" while it is being sent too: only the reason tells that the answer is there.
    phone.get_by_text("The shop's computer cannot be reached").wait_for()
    _waiting(phone, 1)
    assert _captures(site, tmp_path) == []
    phone.unroute(POSTS)
    phone.get_by_role("button", name="Send again now").click()
    _nothing_kept(phone)
    assert _captures(site, tmp_path) == ["image"]


def test_it_is_tried_again_by_itself_with_a_growing_wait(site, phone, photos, tmp_path) -> None:
    tried = []
    phone.clock.install()
    phone.route(POSTS, lambda route: (tried.append(route.request.url), route.abort()))
    _send(phone, photos[0])
    for count, wait_s in enumerate((5, 10, 20), 1):
        phone.get_by_text("The shop's computer cannot be reached").wait_for()
        assert len(tried) == count
        phone.clock.run_for((wait_s - 1) * 1000)
        phone.wait_for_timeout(50)
        assert len(tried) == count
        phone.clock.run_for(1500)
        for _ in range(200):
            if len(tried) > count:
                break
            phone.wait_for_timeout(10)
        assert len(tried) == count + 1
        phone.wait_for_timeout(100)
    phone.unroute(POSTS)
    phone.clock.run_for(60_000)
    _nothing_kept(phone)
    assert _captures(site, tmp_path) == ["image"]


def test_what_is_refused_stays_until_somebody_decides(site, phone, photos, tmp_path) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(photos[0].read_bytes()[:400])
    _send(phone, broken, photos[1])
    phone.get_by_role("heading", name="1 of 2 arrived for Unit 417").wait_for()
    phone.reload()
    phone.get_by_role("heading", name="Kept on this phone: not taken").wait_for()
    phone.get_by_role("button", name="Remove from this phone: broken.jpg").click()
    _nothing_kept(phone)
    assert _captures(site, tmp_path) == ["other"]


def test_after_signing_out_files_wait_for_the_next_sign_in(site, phone, photos, tmp_path) -> None:
    cookies = phone.context.cookies()
    phone.context.clear_cookies()
    _send(phone, photos[0])
    phone.get_by_text("Sign in again; then they are sent.").wait_for()
    _waiting(phone, 1)
    phone.context.add_cookies(cookies)
    phone.get_by_role("button", name="Send again now").click()
    _nothing_kept(phone)
    assert _captures(site, tmp_path) == ["image"]
