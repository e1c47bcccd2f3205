"""Photos moved, findings split and merged on the page, and each of it undone."""

import pytest
from fastapi.testclient import TestClient

from models.record import Evidence, Finding
from pipelines.review import pieces
from pipelines.review.case import load_case, shown
from tests.pipelines.review.sample import ID, Bench, finding_id, findings, place

PAGE = f"/inspections/{ID}"


def _record(bench: Bench):
    case = load_case(bench.store, ID)
    assert case is not None and case.record is not None
    return case.record


def _at(bench: Bench, place: int) -> Finding:
    return _record(bench).findings[place]


def _post(client: TestClient, finding: Finding, action: str, **fields: str):
    return client.post(f"{PAGE}/findings/{finding.id}/{action}", data={"seen": shown(finding), **fields})


def test_a_photo_is_attached_and_taken_away(client: TestClient, bench: Bench) -> None:
    page = client.get(f"{PAGE}/findings/{finding_id(1)}/arrange").text
    assert "It rests on no photo." in page
    assert "IMG_1.jpg" in page
    answer = _post(client, _at(bench, 0), "attach", photo=bench.photo.sha256)
    assert answer.headers["location"] == f"{PAGE}?said=attach#{place(1)}"
    photo = _at(bench, 0).evidence[-1]
    assert (photo.kind, photo.capture, photo.box) == ("photo", bench.photo.sha256, (190, 180, 260, 100))
    assert _at(bench, 0).review is not None
    assert _at(bench, 0).review.state == "proposed"  # type: ignore[union-attr]
    again = _post(client, _at(bench, 0), "attach", photo=bench.photo.sha256)
    assert (again.status_code, "rests on this photo already" in again.text) == (422, True)
    assert "given a photo" in client.get(PAGE).text
    assert _post(client, _at(bench, 0), "detach", piece="0").status_code == 422  # that is the sound
    assert _post(client, _at(bench, 0), "detach", piece="1").status_code == 303
    assert [e.kind for e in _at(bench, 0).evidence] == ["audio"]
    assert "no finding rests on" not in client.get(PAGE).text  # others still do
    for at, piece in ((2, "1"), (5, "0")):
        assert _post(client, _at(bench, at), "detach", piece=piece).status_code == 303
    assert "Photos that no finding rests on any more" in client.get(PAGE).text
    assert "IMG_1.jpg" in client.get(PAGE).text


@pytest.mark.parametrize("photo", ["", "x", "0" * 64, "../IMG_1.jpg", "audio"])
def test_only_photos_of_this_truck_are_attached(client: TestClient, bench: Bench, photo: str) -> None:
    wanted = bench.audio.sha256 if photo == "audio" else photo
    assert _post(client, _at(bench, 0), "attach", photo=wanted).status_code == 422
    assert bench.store.events(ID) == []


def test_one_finding_becomes_two_and_one_again(client: TestClient, bench: Bench) -> None:
    assert "Take 13.5 psi" in client.get(PAGE).text
    answer = _post(client, _at(bench, 2), "split", pieces="1", value="0")
    assert answer.status_code == 303
    rest, new = _at(bench, 2), _at(bench, 3)
    assert [e.kind for e in rest.evidence] == ["audio"]
    assert [e.kind for e in new.evidence] == ["photo"]
    assert rest.reading is not None and new.reading is not None
    assert (f"{rest.reading.value:f}", f"{new.reading.value:f}") == ("30.5", "13.5")
    assert new.component == "cooling_system"
    assert new.verdict is not None
    assert new.verdict.word == "not judged"
    for finding in (rest, new):
        assert pieces.SPLIT in finding.attention  # neither is confirmed together with others
    assert client.post(f"{PAGE}/findings/{new.id}/confirm", data={"seen": shown(new)}).status_code == 303
    refused = _post(client, _at(bench, 2), "restore")
    assert (refused.status_code, "undo that first" in refused.text) == (422, True)
    client.post(f"{PAGE}/findings/{new.id}/reopen", data={"seen": shown(_at(bench, 3))})
    assert _post(client, _at(bench, 2), "restore").status_code == 303
    assert len(_record(bench).findings) == 6
    assert len(_at(bench, 2).evidence) == 2
    assert [e.kind for e in bench.store.events(ID)] == ["split", "confirm", "reopen", "restore"]


def test_a_part_without_a_value_is_not_confirmed(client: TestClient, bench: Bench) -> None:
    assert _post(client, _at(bench, 0), "split", pieces="0", value="none").status_code == 303
    rest, new = _at(bench, 0), _at(bench, 1)
    assert rest.evidence == new.evidence  # the one sentence stays with both
    answer = client.post(f"{PAGE}/findings/{new.id}/confirm", data={"seen": shown(new)})
    assert answer.status_code == 422
    assert "This says nothing yet" in answer.text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"value": "same"}, "Tick what goes"),
        ({"pieces": "7", "value": "same"}, "Tick what goes"),
        ({"pieces": "0"}, "Choose what the new finding reads"),
        ({"pieces": "0", "value": "2"}, "Choose what the new finding reads"),
        ({"pieces": "0 ² -1", "value": "٠"}, "Choose what the new finding reads"),
    ],
)
def test_a_split_that_makes_no_sense_is_explained(client: TestClient, bench: Bench, fields, words) -> None:
    answer = _post(client, _at(bench, 2), "split", **fields)
    assert answer.status_code == 422
    assert words in answer.text
    assert bench.store.events(ID) == []


def test_two_findings_become_one_and_nothing_they_say_is_lost(client: TestClient, bench: Bench) -> None:
    photo = _at(bench, 5)
    answer = _post(client, _at(bench, 2), "merge", other=f"{photo.id} {shown(photo)}")
    assert answer.status_code == 303
    assert len(_record(bench).findings) == 5
    merged = _at(bench, 2)
    assert merged.reading is not None
    assert f"{merged.reading.value:f}" == "30.5"
    assert len(merged.evidence) == 3
    assert any("12.64 V. The two values differ" in sentence for sentence in merged.attention)
    assert _post(client, merged, "restore").status_code == 303
    assert len(_record(bench).findings) == 6
    # the other way round, the photo's value is the one that stays
    named, nameless = _at(bench, 2), _at(bench, 5)
    assert _post(client, nameless, "merge", other=f"{named.id} {shown(named)}").status_code == 303
    merged = _at(bench, 4)
    assert merged.component == "cooling_system"
    assert merged.reading == nameless.reading
    assert merged.verdict is not None
    assert merged.verdict.word == "not judged"


def test_merging_refuses_what_was_not_on_the_page(client: TestClient, bench: Bench) -> None:
    first, second = _at(bench, 0), _at(bench, 1)
    for other in ("", "x y", f"{first.id} {shown(first)}", f"{second.id} stale"):
        assert _post(client, first, "merge", other=other).status_code == 422
    client.post(f"{PAGE}/findings/{second.id}/confirm", data={"seen": shown(second)})
    refused = _post(client, first, "merge", other=f"{second.id} {shown(_at(bench, 1))}")
    assert (refused.status_code, "is decided: undo that first" in refused.text) == (422, True)
    refused = _post(client, _at(bench, 1), "merge", other=f"{first.id} {shown(first)}")
    assert (refused.status_code, "decided already" in refused.text) == (422, True)
    assert [e.kind for e in bench.store.events(ID)] == ["confirm"]
    stale = client.post(f"{PAGE}/findings/{first.id}/attach", data={"seen": "old", "photo": "x"})
    assert stale.status_code == 409
    client.cookies.delete("reviewer")
    nobody = _post(client, first, "attach", photo=bench.photo.sha256)
    assert (nobody.status_code, "Give your name first" in nobody.text) == (422, True)
    assert _post(client, first, "restore").status_code == 422


def test_merging_the_same_value_asks_nothing() -> None:
    one, two, *_ = findings("a" * 64, "b" * 64)
    more = Evidence(kind="photo", capture="b" * 64, text="6.0")
    same = one.model_copy(update={"id": "x", "evidence": (more,), "conditions": ("worn",)})
    merged = pieces.merge(one, same)
    assert (merged.attention, merged.verdict, merged.conditions) == ((), one.verdict, ("worn",))
    assert merged.evidence == (*one.evidence, more)
    other = pieces.merge(one, two)
    assert [f"{a.value:f}" for a in other.alternatives] == ["4.50"]
    assert "The two values differ" in other.attention[0]
