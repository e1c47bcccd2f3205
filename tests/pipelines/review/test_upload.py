"""Files from a phone: what arrives lies whole in the inbox, the rest is refused, attacks come to nothing."""

import asyncio
import io
import re
import wave
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from fastapi.testclient import TestClient
from PIL import Image

from capture.ingest import ingest, scan
from models.capture import Capture
from models.people import Person
from models.settings import ReviewSettings
from pipelines.review.app import create_app
from pipelines.review.guard import LARGEST_UPLOAD
from pipelines.review.upload import MOST_FILES, is_folder
from tests.pipelines.review.sample import AT, ID, KEY, Bench

SEND = "/bay/send"
PASSWORD = "correct horse battery"
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
HTML = b"<!doctype html><script>alert(1)</script>"


def jpeg(colour: int = 90) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (colour, 88, 80)).save(out, "jpeg", comment=f"{colour}")
    return out.getvalue()


def sound() -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16000)
        file.writeframes(b"\0\1" * 8000)
    return out.getvalue()


@pytest.fixture
def inbox(bench: Bench) -> Path:
    return bench.home.parent / "phones"


@pytest.fixture
def phone(bench: Bench, inbox: Path) -> Iterator[TestClient]:
    """A technician's phone that signed in."""
    digest = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1).hash(PASSWORD)
    for name, role in (("Jo Vik", "technician"), ("Ana Cole", "reviewer")):
        bench.store.people.add(Person.model_validate({"name": name, "role": role, "added_at": AT}), digest)
    settings = bench.settings.model_copy(update={"review": ReviewSettings(inbox=inbox)})
    app = create_app(bench.store, bench.home, settings, key=KEY)
    with TestClient(app, base_url="http://127.0.0.1:8417", follow_redirects=False) as client:
        assert client.post("/login", data={"name": "Jo Vik", "password": PASSWORD}).status_code == 303
        yield client


def send(phone: TestClient, *files: tuple[str, bytes], headers: dict[str, str] | None = None, **fields: str):
    parts = [("files", (name, content, "image/jpeg")) for name, content in files]
    return phone.post(SEND, data=fields, files=parts, headers=headers or {})


def lying(inbox: Path) -> list[str]:
    return sorted(str(p.relative_to(inbox)) for p in inbox.rglob("*")) if inbox.exists() else []


def test_photos_and_notes_arrive_in_the_folder_of_the_truck(
    phone: TestClient, bench: Bench, inbox: Path
) -> None:
    page = phone.get(f"{SEND}?truck={ID}").text
    assert f'name="truck" value="{ID}" checked' in page
    assert 'accept="image/*" capture="environment"' in page
    assert "Send a photo or a note" in phone.get("/bay").text
    answer = send(phone, ("image.jpg", jpeg()), ("20261120T081503.wav", sound()), truck=ID)
    assert answer.status_code == 200
    assert "2 of 2 arrived for 417" in answer.text
    answer = send(phone, ("image.jpg", jpeg(91)), truck=ID)  # phones call every photo alike
    assert "1 of 1 arrived" in answer.text
    found = scan(inbox)
    assert len(found) == 3
    assert {path.parent.name for path in found} == {"417"}
    assert not [name for name in lying(inbox) if name.startswith(".")]
    taken = [ingest(path, inbox, bench.store, bench.home, datetime.now(UTC)) for path in found]
    assert sorted(c.kind for c in taken if isinstance(c, Capture)) == ["audio", "photo", "photo"]
    note = next(c for c in taken if isinstance(c, Capture) and c.kind == "audio")
    assert (note.folder, note.time_source, note.captured_at.hour) == ("417", "file_name", 8)


def test_the_same_file_sent_twice_is_one_capture(phone: TestClient, bench: Bench, inbox: Path) -> None:
    asks = {"accept": "application/json"}
    went = {"wrong": "", "went_to": "417", "taken": [{"name": "image.jpg", "problem": ""}]}

    def sent() -> object:
        return send(phone, ("image.jpg", jpeg()), truck=ID, headers=asks).json()

    before = len(bench.store.captures())
    assert [sent(), sent()] == [went, went]  # the first answer got lost
    (path,) = scan(inbox)
    first = ingest(path, inbox, bench.store, bench.home, datetime.now(UTC))
    assert sent() == went  # or came only after it was taken in
    (path,) = scan(inbox)
    assert ingest(path, inbox, bench.store, bench.home, datetime.now(UTC)) == first
    assert (len(bench.store.captures()), scan(inbox)) == (before + 1, [])


@pytest.mark.parametrize(
    ("said", "age_s"), [("7200", 7200), ("0", 0), ("-5", 0), ("1e9", 0), ("nan", 0), ("999999999", 0)]
)
def test_a_file_that_was_kept_on_the_phone_is_as_old_as_it_is(
    phone: TestClient, bench: Bench, inbox: Path, said: str, age_s: int
) -> None:
    before = datetime.now(UTC) - timedelta(seconds=age_s)
    assert send(phone, ("image.jpg", jpeg()), truck=ID, age_s=said).status_code == 200
    (path,) = scan(inbox)
    taken = ingest(path, inbox, bench.store, bench.home, datetime.now(UTC))
    assert isinstance(taken, Capture)
    assert (taken.time_source, abs(taken.captured_at - before) < timedelta(seconds=5)) == ("file_time", True)


def test_a_refusal_is_told_to_the_page_with_its_reason(phone: TestClient) -> None:
    asks = {"accept": "application/json"}
    answer = send(phone, ("x.jpg", SVG), truck=ID, headers=asks)
    assert answer.status_code == 422
    assert "x.jpg" in answer.json()["taken"][0]["problem"]
    answer = send(phone, ("x.jpg", jpeg()), unit="../x", headers=asks)
    assert (answer.status_code, answer.json()["taken"]) == (422, [])
    assert "Write the unit with letters" in answer.json()["wrong"]


def test_a_truck_that_is_not_on_the_list_gets_a_folder_of_its_own(phone: TestClient, inbox: Path) -> None:
    assert "arrived for T 9" in send(phone, ("a.jpg", jpeg()), unit="  T   9 ").text
    assert send(phone, ("b.jpg", jpeg(91))).status_code == 200  # nobody knows: beside the folders
    assert sorted(path.parent.name for path in scan(inbox)) == ["T 9", "phones"]
    answer = send(phone, ("c.jpg", jpeg(92)), truck="44444444-3a3f-4f5c-9a7c-5c7f0a1b2c3d")
    assert (answer.status_code, "no longer being inspected" in answer.text) == (422, True)


def test_a_unit_is_never_a_path(phone: TestClient, inbox: Path) -> None:
    paths = ("..", "../x", "/etc", "a/b", "a\\b", "a\x00b")
    for unit in (*paths, ".hidden", "rejected", "x.part", "~$x", "-rf", "x.", "<b>"):
        answer = send(phone, ("a.jpg", jpeg()), unit=unit)
        assert (answer.status_code, "Write the unit with letters" in answer.text) == (422, True)
        assert not is_folder(unit)
    assert lying(inbox) == []


def test_a_name_is_never_a_path_or_a_script(phone: TestClient, inbox: Path) -> None:
    paths = ("../../x.jpg", "..\\..\\x.jpg", "/etc/cron.d/x.jpg", "%2e%2e%2fx.jpg", "a\x00b.jpg")
    names = (*paths, "<script>.jpg", ".x.jpg", "~$x.jpg", "x" * 300 + ".jpg", "CON.jpg")
    for n, name in enumerate(names):
        answer = send(phone, (name, jpeg(n)), truck=ID)
        assert answer.status_code == 200
        assert "<script>" not in answer.text
    found = scan(inbox)
    assert len(found) == len(names)
    for path in found:
        assert (path.parent, path.suffix) == (inbox / "417", ".jpg")
        assert re.fullmatch(r"[\w .()+-]{1,90}", path.name)
    assert sorted(p.name for p in inbox.parent.iterdir()) == ["home", "inbox", "phones"]


def test_what_is_no_photo_or_sound_is_refused_with_the_reason(phone: TestClient, inbox: Path) -> None:
    contents = (SVG, HTML, b"GIF89a<script>", b"", jpeg()[:200], b"PK\x03\x04" + b"x" * 99)
    for n, name in enumerate(("x.jpg", "x.svg", "x.html", "x.m4a")):
        for content in contents:
            answer = send(phone, (name, content), truck=ID)
            assert answer.status_code == 422
            assert f"<b>{name}</b> was not taken." in answer.text
            assert "<script>alert" not in answer.text
        answer = send(phone, (name, SVG), ("good.jpg", jpeg(n)), truck=ID)
        assert (answer.status_code, "1 of 2 arrived" in answer.text) == (200, True)
    assert len(scan(inbox)) == 4


def test_too_large_and_too_many_are_refused(phone: TestClient, inbox: Path, monkeypatch) -> None:
    monkeypatch.setattr("pipelines.review.upload.LARGEST_FILE", 300)
    answer = send(phone, ("a.jpg", jpeg()), truck=ID)
    assert (answer.status_code, "send a shorter one" in answer.text) == (422, True)
    answer = send(phone, *((f"{n}.jpg", b"x") for n in range(MOST_FILES + 1)), truck=ID)
    assert answer.status_code == 400
    assert lying(inbox) in ([], ["417"])
    assert send(phone, truck=ID).status_code in {415, 422}


def _raw(app, cookie: str, headers: dict[str, str], body: list[bytes | None]) -> tuple[int, bytes]:
    """Status and body of a request that arrives in pieces; None: nothing more comes."""
    sent: list[dict] = []
    pieces = iter(body)

    async def receive() -> dict:
        piece = next(pieces)
        if piece is None:
            await asyncio.sleep(60)
        return {"type": "http.request", "body": piece, "more_body": True}

    async def answer(message) -> None:
        sent.append(message)

    whole = {"host": "127.0.0.1", "cookie": cookie, **headers}
    scope = {"type": "http", "method": "POST", "path": SEND, "raw_path": SEND.encode(), "query_string": b""}
    scope |= {"headers": [(k.encode(), v.encode()) for k, v in whole.items()], "scheme": "http", "state": {}}
    scope |= {"server": ("127.0.0.1", 80), "client": ("127.0.0.1", 1), "http_version": "1.1", "root_path": ""}
    with ThreadPoolExecutor(1) as threads:  # this one may have a loop of its own
        threads.submit(lambda: asyncio.run(app(scope, receive, answer))).result()
    return sent[0]["status"], b"".join(m.get("body", b"") for m in sent)


def test_an_upload_that_is_too_long_or_too_slow_is_given_up(
    phone: TestClient, inbox: Path, monkeypatch
) -> None:
    cookie = "; ".join(f"{c.name}={c.value}" for c in phone.cookies.jar)
    kind = {"content-type": "multipart/form-data; boundary=b"}
    length = {"content-length": str(LARGEST_UPLOAD + 1)}
    assert _raw(phone.app, cookie, kind | length, [])[0] == 413  # nothing of it was read
    monkeypatch.setattr("pipelines.review.upload.WITHIN_S", 0.2)
    begin = b'--b\r\nContent-Disposition: form-data; name="files"; filename="a.jpg"\r\n\r\nxx'
    status, text = _raw(phone.app, cookie, kind | {"content-length": "1000"}, [begin, None])
    assert (status, b"Sending took too long" in text) == (408, True)
    status, _ = _raw(phone.app, cookie, {"content-type": "text/plain", "content-length": "2"}, [b"xx"])
    assert status == 415
    assert lying(inbox) == []


def test_other_sites_other_names_and_strangers_send_nothing(
    phone: TestClient, bench: Bench, inbox: Path
) -> None:
    good = ("a.jpg", jpeg())
    for headers, status in (
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "https://elsewhere.test"}, 403),
        ({"host": "elsewhere.test"}, 400),
    ):
        assert send(phone, good, truck=ID, headers=headers).status_code == status
    phone.post("/logout", data={"out": "yes"})
    assert send(phone, good, truck=ID).headers["location"].startswith("/login")
    assert phone.get(SEND).headers["location"] == "/login?back=/bay/send"
    assert lying(inbox) == []


def test_a_technician_sends_and_still_decides_nothing(phone: TestClient, inbox: Path) -> None:
    assert send(phone, ("a.jpg", jpeg()), truck=ID).status_code == 200
    assert phone.post(f"/inspections/{ID}/decide", data={"do": "confirm x y"}).status_code == 403


def test_a_link_out_of_the_inbox_is_not_followed(phone: TestClient, inbox: Path, tmp_path: Path) -> None:
    inbox.mkdir()
    outside = tmp_path / "outside"
    outside.mkdir()
    (inbox / "417").symlink_to(outside)
    answer = send(phone, ("a.jpg", jpeg()), truck=ID)
    assert (answer.status_code, "leads out of the inbox" in answer.text) == (422, True)
    assert list(outside.iterdir()) == []


def test_without_a_folder_the_page_says_how_to_set_one(client: TestClient) -> None:
    answer = client.get(SEND)
    assert (answer.status_code, "set review.inbox" in answer.text) == (404, True)
    assert send(client, ("a.jpg", jpeg()), truck=ID).status_code == 409
    assert SEND not in client.get("/bay").text


@pytest.mark.parametrize("path", ["inbox", "./inbox", "~nobody-of-that-name/x"])
def test_the_folder_is_a_whole_path(path: str) -> None:
    with pytest.raises(ValueError, match="whole path"):
        ReviewSettings(inbox=Path(path))
