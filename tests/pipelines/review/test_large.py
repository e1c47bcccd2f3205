"""A large inspection: what its page weighs, and that sound and photos are never compressed twice."""

from fastapi.testclient import TestClient

from tests.pipelines.review.sample import ID, Bench, make_large

PAGE = f"/inspections/{ID}"


def test_a_page_of_200_findings_is_light_on_the_network(client: TestClient, bench: Bench) -> None:
    make_large(bench, 200)
    text = client.get(PAGE).text
    assert text.count("<article") == text.count(">Confirm</button>") == 200
    assert len(text.encode()) < 300_000  # as it is, before it is compressed
    with client.stream("GET", PAGE, headers={"accept-encoding": "gzip"}) as answer:
        assert answer.headers["content-encoding"] == "gzip"
        assert sum(len(piece) for piece in answer.iter_raw()) < 60_000


def test_media_come_as_they_are(client: TestClient, bench: Bench) -> None:
    whole = {"accept-encoding": "gzip"}
    for address in (f"/audio/{bench.audio.sha256}", f"/photo/{bench.photo.sha256}"):
        answer = client.get(address, headers=whole)
        assert "content-encoding" not in answer.headers
        piece = client.get(address, headers=whole | {"range": "bytes=10-19"})
        assert (piece.status_code, piece.content) == (206, answer.content[10:20])
