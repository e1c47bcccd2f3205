import io

import av
import pytest
from fastapi.testclient import TestClient
from PIL import Image

from tests.pipelines.review.sample import Bench, unknown_hash


def test_sound_plays_in_pieces(client: TestClient, bench: Bench) -> None:
    address = f"/audio/{bench.audio.sha256}"
    whole = client.get(address)
    assert whole.status_code == 200
    assert whole.headers["content-type"] == "audio/mp4"
    assert whole.headers["accept-ranges"] == "bytes"
    assert whole.headers["content-disposition"].startswith("inline")
    with av.open(io.BytesIO(whole.content)) as container:
        assert container.streams.audio[0].codec_context.name == "aac"
        assert container.duration is not None
        assert container.duration / av.time_base == pytest.approx(12.0, abs=0.2)
    first = client.get(address, headers={"range": "bytes=0-1"})
    assert (first.status_code, first.content) == (206, whole.content[:2])
    assert first.headers["content-range"] == f"bytes 0-1/{len(whole.content)}"
    last = client.get(address, headers={"range": "bytes=-5"})
    assert (last.status_code, last.content) == (206, whole.content[-5:])
    assert client.get(address, headers={"range": f"bytes={len(whole.content)}-"}).status_code == 416
    assert client.get(address, headers={"range": "bytes=x"}).status_code == 400
    assert client.head(address).headers["content-length"] == str(len(whole.content))


def test_copies_are_made_once_and_known_by_their_hash(client: TestClient, bench: Bench) -> None:
    address = f"/photo/{bench.photo.sha256}"
    tag = client.get(address).headers["etag"]
    (copy,) = (bench.home / "review-copies").iterdir()
    made = copy.stat().st_mtime_ns
    assert client.get(address, headers={"if-none-match": tag}).status_code == 304
    assert client.get(address).status_code == 200
    assert copy.stat().st_mtime_ns == made
    copy.unlink()
    assert client.get(address).headers["etag"] == tag


def test_photos_are_shown_whole_and_cut_out(client: TestClient, bench: Bench) -> None:
    address = f"/photo/{bench.photo.sha256}"
    assert Image.open(io.BytesIO(client.get(address).content)).size == (640, 480)
    answer = client.get(f"{address}/crop?box=190,180,260,100")
    assert answer.headers["content-type"] == "image/jpeg"
    cut = Image.open(io.BytesIO(answer.content)).convert("RGB")
    assert cut.size == (260, 100)
    corner = cut.getpixel((3, 3))
    assert isinstance(corner, tuple)
    assert all(abs(a - b) < 12 for a, b in zip(corner, (176, 186, 160), strict=True))
    assert answer.headers["cache-control"] == "private, max-age=31536000, immutable"
    again = client.get(
        f"{address}/crop?box=190,180,260,100", headers={"if-none-match": answer.headers["etag"]}
    )
    assert again.status_code == 304
    assert [p.name for p in (bench.home / "review-copies").iterdir()] == [f"{bench.photo.sha256}.jpg"]


@pytest.mark.parametrize(
    "box", ["", "1,2,3", "0,0,0,5", "-1,0,5,5", "0,0,641,480", "600,0,41,1", "0,0,1e3,4", "0,0,5,5,5"]
)
def test_boxes_outside_the_photo_are_refused(client: TestClient, bench: Bench, box: str) -> None:
    assert client.get(f"/photo/{bench.photo.sha256}/crop?box={box}").status_code == 400


def test_only_known_captures_are_given_out(client: TestClient, bench: Bench) -> None:
    for kind in ("audio", "photo"):
        for name in (
            unknown_hash(),
            "..%2f..%2fetc%2fpasswd",
            "..%5c..%5cdroplight.db",
            "%2e%2e/droplight.db",
            "droplight.db",
            "C:%5Cfile",
            f"{bench.audio.sha256}.wav",
            bench.audio.sha256[:-1],
            bench.audio.sha256.upper() + "%00",
            "a%00b",
        ):
            assert client.get(f"/{kind}/{name}").status_code == 404
    assert client.get(f"/audio/{bench.photo.sha256}").status_code == 404
    assert client.get(f"/photo/{bench.audio.sha256}").status_code == 404
    for name in ("..%2fapp.py", "../app.py", "%2e%2e/templates/base.html", "..%5capp.py"):
        assert client.get(f"/static/{name}").status_code == 404


def test_a_missing_original_is_explained(client: TestClient, bench: Bench) -> None:
    for path in (bench.home / "originals").rglob(f"{bench.photo.sha256}*"):
        path.unlink()
    answer = client.get(f"/photo/{bench.photo.sha256}")
    assert answer.status_code == 404
    assert "The original of IMG_1.jpg is not kept any more." in answer.text
    assert list((bench.home / "review-copies").iterdir()) == []
