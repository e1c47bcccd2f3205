"""What somebody who means harm would try, beyond other sites and other names (test_guard, test_door)."""

import asyncio
import secrets
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi.testclient import TestClient

from capture.identity import keep, sha256_of
from models.capture import Capture
from models.people import Person
from pipelines.review.app import create_app
from pipelines.review.guard import LARGEST_FORM
from tests.pipelines.review.sample import AT, ID, KEY, Bench, unknown_hash

PAGE = f"/inspections/{ID}"
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
HTML = b"<!doctype html><script>alert(1)</script>"


@pytest.mark.parametrize("content", [SVG, b'<?xml version="1.0"?>' + SVG, HTML, b"GIF89a<script>", b""])
@pytest.mark.parametrize("kind", ["photo", "audio"])
def test_what_is_no_picture_never_reaches_a_browser(
    client: TestClient, bench: Bench, tmp_path, content: bytes, kind: str
) -> None:
    # Ingestion refuses such files; here one has got into the data folder in spite of it.
    path = tmp_path / "x.jpg"
    path.write_bytes(content)
    sha256 = sha256_of(path)
    keep(path, bench.home / "originals", sha256)
    fields = {"kind": kind, "original_name": "x.svg", "size": len(content), "captured_at": AT}
    bench.store.add_capture(
        Capture.model_validate(
            {
                **fields,
                "sha256": sha256,
                "time_source": "file_time",
                "zone_known": True,
                "width": 9,
                "height": 9,
            }
        ),
        AT,
    )
    addresses = [f"/{kind}/{sha256}"] + ([f"/photo/{sha256}/crop?box=1,1,5,5"] if kind == "photo" else [])
    for address in addresses:
        answer = client.get(address)
        assert answer.status_code == 404
        assert b"<script>alert" not in answer.content
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "script-src" not in answer.headers["content-security-policy"]  # default-src 'self' rules


def test_a_name_that_is_a_path_or_a_header_stays_a_name(client: TestClient, bench: Bench) -> None:
    photo = bench.store.capture(bench.photo.sha256)
    assert photo is not None
    for n, name in enumerate(('../../etc/passwd"\r\nx-evil: 1', "<script>.jpg", "..\\..\\x.jpg")):
        # the same file again under another hash, so that the name is another one
        path = bench.home / f"other-{n}"
        path.write_bytes((bench.home.parent / "inbox" / "IMG_1.jpg").read_bytes() + bytes([n]))
        sha256 = sha256_of(path)
        keep(path, bench.home / "originals", sha256)
        bench.store.add_capture(photo.model_copy(update={"sha256": sha256, "original_name": name}), AT)
        answer = client.get(f"/photo/{sha256}")
        assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")
        assert "x-evil" not in answer.headers
        assert "<script>" not in client.get("/").text


def _post(app, cookie: str, body: list[bytes | None], length: int) -> tuple[int, bytes]:
    """Status and body of a form that arrives in pieces; None: nothing more comes."""
    sent: list[dict] = []
    pieces = iter(body)

    async def receive() -> dict:
        piece = next(pieces)
        if piece is None:
            await asyncio.sleep(60)
        return {"type": "http.request", "body": piece, "more_body": True}

    async def send(message) -> None:
        sent.append(message)

    headers = [
        (b"host", b"127.0.0.1"),
        (b"cookie", cookie.encode()),
        (b"content-type", b"application/x-www-form-urlencoded"),
        (b"content-length", str(length).encode()),
    ]
    path = "/name"
    scope = {"type": "http", "method": "POST", "path": path, "raw_path": path.encode(), "query_string": b""}
    scope |= {"headers": headers, "scheme": "http", "server": ("127.0.0.1", 80), "client": ("127.0.0.1", 1)}
    whole = {**scope, "http_version": "1.1", "root_path": "", "state": {}}
    with ThreadPoolExecutor(1) as threads:  # this one may have a loop of its own: the browser tests leave one
        threads.submit(lambda: asyncio.run(app(whole, receive, send))).result()
    return sent[0]["status"], b"".join(m.get("body", b"") for m in sent)


def test_a_body_that_does_not_come_is_given_up(client: TestClient, monkeypatch) -> None:
    monkeypatch.setattr("pipelines.review.desk.BODY_WITHIN_S", 0.1)
    cookie = "; ".join(f"{c.name}={c.value}" for c in client.cookies.jar)
    status, text = _post(client.app, cookie, [b"name=", b"A", None], 1000)
    assert status == 408
    assert b"took too long" in text


@pytest.mark.parametrize("length", [LARGEST_FORM + 1, 10**12, -1])
def test_a_body_that_is_too_long_is_refused_before_it_is_read(client: TestClient, length: int) -> None:
    status, _ = _post(client.app, "", [], length)  # reading anything would fail: there is nothing to read
    assert status in {411, 413}


def test_ids_and_keys_cannot_be_guessed(bench: Bench, monkeypatch) -> None:
    asked: list[int] = []
    real = secrets.token_urlsafe
    monkeypatch.setattr(secrets, "token_urlsafe", lambda size: asked.append(size) or real(size))
    app = create_app(bench.store, bench.home, bench.settings, key=KEY)
    with TestClient(app, base_url="http://127.0.0.1:8417", follow_redirects=False) as stranger:
        stranger.get(f"/?key={KEY}")
        assert asked == [32]  # bytes
        stranger.cookies.clear()
        for address in (
            PAGE,
            f"/photo/{bench.photo.sha256}",
            f"/api/records/{ID}",
            f"/audio/{unknown_hash()}",
        ):
            known = stranger.get(address)
            unknown = stranger.get(address[:-1] + ("0" if address[-1] != "0" else "1"))
            assert known.status_code == unknown.status_code == 403
            assert len(known.content) == len(unknown.content)  # says nothing of what there is
    bench.store.people.add(Person(name="Ana", role="reviewer", added_at=AT), "x")
    with TestClient(app, base_url="http://127.0.0.1:8417", follow_redirects=False) as stranger:
        for key in ("", "0", "a" * 43, "' OR 1=1 --", "%00"):
            assert stranger.get(PAGE, headers={"cookie": f"droplight_session={key}"}).status_code == 303
