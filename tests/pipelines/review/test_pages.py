import re
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from fastapi.testclient import TestClient

from models.record import Finding, Reading, Verdict
from pipelines.review.app import create_app
from pipelines.review.case import load_case, shown
from tests.pipelines.review.sample import ID, KEY, Bench, add_inspection, draft, finding_id, place

PAGE = f"/inspections/{ID}"


def _at(number: int, action: str) -> str:
    return f"{PAGE}/findings/{finding_id(number)}/{action}"


def _finding(bench: Bench, number: int) -> Finding:
    case = load_case(bench.store, ID)
    assert case is not None
    found = case.finding(finding_id(number))
    assert found is not None
    return found


def _seen(bench: Bench, number: int) -> dict[str, str]:
    return {"seen": shown(_finding(bench, number)), "saw": "what stood there"}


def _whole(client: TestClient) -> dict[str, str]:
    text = client.get(PAGE).text
    form = re.search(r'action="[^"]*/sign">(.*?)</form>', text, re.S)
    assert form is not None
    return dict(re.findall(r'name="(version|seen)" value="([^"]*)"', form[1]))


def _states(bench: Bench) -> list[str]:
    case = load_case(bench.store, ID)
    assert case is not None and case.record is not None
    return [f.review.state for f in case.record.findings if f.review]


def test_the_list_shows_inspections_stray_files_and_rejections(client: TestClient) -> None:
    text = client.get("/").text
    assert "Unit 417" in text
    assert "0 of 6" in text
    assert 'data-name="Need a look"><b class="flag">4</b>' in text
    assert "stray.wav" in text
    assert "half.m4a ends early: copy it again." in text


def test_a_stray_file_is_put_where_it_belongs(client: TestClient, bench: Bench) -> None:
    stray = bench.store.unassigned()[0].sha256
    assert client.post(f"/captures/{stray}/assign", data={"inspection": ID}).status_code == 303
    assert bench.store.unassigned() == []
    assert "the draft does not rest on it yet" in client.get(PAGE).text
    assert client.post(f"/captures/{stray}/assign", data={"inspection": ID}).status_code == 409


def test_no_file_is_put_into_an_amendment_and_the_page_says_why(client: TestClient, bench: Bench) -> None:
    _decide_all(client, bench)
    client.post(f"{PAGE}/sign", data=_whole(client) | {"by": "Ana Cole"})
    opened = client.post(f"{PAGE}/amend", data={"amend": "yes"}).headers["location"]
    amendment = opened.split("/")[2].split("?")[0]
    stray = bench.store.unassigned()[0].sha256
    assert f'<option value="{amendment}"' not in client.get("/").text
    answer = client.post(f"/captures/{stray}/assign", data={"inspection": amendment})
    assert answer.status_code == 409
    assert "amends a signed record, so no file is put into it" in answer.text
    assert "is signed" not in answer.text
    answer = client.post(f"/captures/{stray}/assign", data={"inspection": ID})
    assert (answer.status_code, "is signed and cannot be changed" in answer.text) == (409, True)
    assert [c.sha256 for c in bench.store.unassigned()] == [stray]


def test_an_inspection_shows_each_finding_with_its_proof(client: TestClient, bench: Bench) -> None:
    text = client.get(PAGE).text
    assert "left front outer brake pad" in text
    assert "<strong>4.50 mm</strong>" in text
    assert "<strong>7/32 in</strong>" in text
    assert "outer pad <mark>six millimeters</mark>" in text
    assert f'src="/audio/{bench.audio.sha256}#t=4.0,7.7"' in text
    assert f"/photo/{bench.photo.sha256}/crop?box=90,80,460,300" in text
    assert "The photo shows 13.5 psi and the voice says 30.5 psi." in text
    assert "49 CFR 393.47(d)" in text
    assert "note-2.m4a held no speech." in text
    assert "112306 mi" in text
    assert "checked" not in text  # nothing is decided beforehand
    assert text.index("left front outer") < text.index("cooling system") < text.index("cv boot")


def test_a_limit_that_the_verdict_cites_is_not_said_twice(client: TestClient, bench: Bench) -> None:
    record = draft(bench.audio, bench.photo)
    first = record.findings[0]
    assert first.verdict is not None and first.verdict.limit is not None
    said = f"6.0 mm is within the limit [{first.verdict.limit.source}]."
    verdict = first.verdict.model_copy(update={"sentence": said})
    findings = (first.model_copy(update={"verdict": verdict}), *record.findings[1:2])
    bench.store.put_draft(ID, record.model_copy(update={"findings": findings}))
    text = client.get(PAGE).text
    assert said in text
    assert text.count("Hydraulic front brake pads: at least 3.2 mm") == 1  # of the second finding


def test_confirming_keeps_an_event_and_goes_on_to_the_next(client: TestClient, bench: Bench) -> None:
    answer = client.post(_at(1, "confirm"), data=_seen(bench, 1))
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{PAGE}?said=confirm#{place(2)}"
    assert _states(bench)[0] == "confirmed"
    (event,) = bench.store.events(ID)
    assert (event.kind, event.by, event.finding) == ("confirm", "Ana Cole", finding_id(1))
    text = client.get(answer.headers["location"]).text
    assert "Confirmed." in text
    assert "by Ana Cole" in text


def test_without_a_name_nothing_is_decided(client: TestClient, bench: Bench) -> None:
    client.cookies.delete("reviewer")
    for action, more in (("confirm", {}), ("reject", {"reason": "no"}), ("correct", {}), ("take", {})):
        answer = client.post(_at(1, action), data=_seen(bench, 1) | more)
        assert answer.status_code == 422
        assert 'href="#name"' in answer.text
    assert client.post(f"{PAGE}/confirm-plain", data=_whole(client)).status_code == 422
    assert bench.store.events(ID) == []
    answer = client.post("/name", data={"name": "  Ana\n Cole ", "back": PAGE})
    assert answer.headers["location"] == f"{PAGE}?said=name"
    assert client.post(_at(1, "confirm"), data=_seen(bench, 1)).status_code == 303
    assert bench.store.events(ID)[0].by == "Ana Cole"


@pytest.mark.parametrize("back", ["https://elsewhere.test/", "//elsewhere.test", "/\\elsewhere.test", "x"])
def test_the_name_form_leads_nowhere_else(client: TestClient, back: str) -> None:
    assert client.post("/name", data={"name": "A", "back": back}).headers["location"] == "/?said=name"


def test_correcting_needs_a_reason_and_keeps_the_digits(client: TestClient, bench: Bench) -> None:
    fields = _seen(bench, 3) | {
        "component": "cooling_system",
        "measure": "pressure",
        "value": "13.50",
        "unit": "[psi]",
    }
    answer = client.post(_at(3, "correct"), data=fields)
    assert answer.status_code == 422
    assert 'href="#reason"' in answer.text
    assert 'role="alert" tabindex="-1" autofocus' in answer.text
    assert 'value="13.50"' in answer.text
    assert client.post(_at(3, "correct"), data=fields | {"reason": "as on the photo"}).status_code == 303
    finding = _finding(bench, 3)
    assert finding.reading is not None and finding.review is not None
    assert f"{finding.reading.value:f}" == "13.50"
    assert (finding.review.state, finding.review.reason) == ("corrected", "as on the photo")
    text = client.get(PAGE).text
    assert "<del>cooling system, pressure 30.5 psi</del>" in text
    assert "<ins>cooling system, pressure 13.50 psi</ins>" in text


def test_a_corrected_value_never_keeps_the_old_verdict(client: TestClient, bench: Bench) -> None:
    assert _finding(bench, 1).verdict is not None
    fields = _seen(bench, 1) | {
        "component": "brake_pad",
        "side": "left",
        "axle": "front",
        "face": "outer",
        "measure": "thickness",
        "value": "1.0",
        "unit": "mm",
        "reason": "misheard",
    }
    assert client.post(_at(1, "correct"), data=fields).status_code == 303
    verdict = _finding(bench, 1).verdict
    assert verdict is not None
    assert verdict.word == "not judged"


def test_a_judge_sees_what_the_reviewer_changed_and_nothing_rejected(bench: Bench) -> None:
    judged: list[list[str]] = []

    def judge(record):
        findings = record.findings
        judged.append([f"{f.id[-1]}: {f.reading.value if f.reading else '-'}" for f in findings])
        verdict = Verdict(word="beyond limit", sentence="Judged again.")
        return [f.model_copy(update={"verdict": verdict}) for f in findings]

    app = create_app(bench.store, bench.home, bench.settings, judge, key=KEY)
    with TestClient(app, base_url="http://localhost", follow_redirects=False) as client:
        client.get(f"/?key={KEY}")
        client.cookies.set("reviewer", "Ana")
        assert "Judged again." not in client.get(PAGE).text
        assert judged == []
        assert (
            client.post(_at(2, "reject"), data=_seen(bench, 2) | {"reason": "another truck"}).status_code
            == 303
        )
        fields = {"value": "13.5", "unit": "[psi]"}
        case = load_case(bench.store, ID, judge)
        assert case is not None
        seen = {"seen": shown(case.finding(finding_id(3)))}  # type: ignore[arg-type]
        assert client.post(_at(3, "take"), data=seen | fields).status_code == 303
        assert "Judged again." in client.get(PAGE).text
    assert judged[-1][:2] == ["1: 6.0", "3: 13.5"]
    assert len(judged[-1]) == 5


def test_taking_another_value_is_one_click(client: TestClient, bench: Bench) -> None:
    assert "Take 13.5 psi" in client.get(PAGE).text
    data = _seen(bench, 3) | {"value": "13.5", "unit": "[psi]"}
    assert client.post(_at(3, "take"), data=data).status_code == 303
    finding = _finding(bench, 3)
    assert finding.reading is not None and finding.review is not None
    assert finding.reading.value == Decimal("13.5")
    assert finding.review.reason == "Another value was heard or seen; it was read as 30.5 psi."
    data = _seen(bench, 3) | {"value": "99", "unit": "[psi]"}
    assert client.post(_at(3, "take"), data=data).status_code == 422
    assert len(bench.store.events(ID)) == 1


def test_rejecting_needs_a_reason(client: TestClient, bench: Bench) -> None:
    answer = client.post(_at(1, "reject"), data=_seen(bench, 1) | {"reason": "  "})
    assert answer.status_code == 422
    assert 'href="#reason"' in answer.text
    assert client.post(_at(1, "reject"), data=_seen(bench, 1) | {"reason": "a test"}).status_code == 303
    assert _states(bench)[0] == "rejected"


def test_undoing_opens_the_finding_again(client: TestClient, bench: Bench) -> None:
    assert client.post(_at(1, "reopen"), data=_seen(bench, 1)).status_code == 422
    client.post(_at(1, "confirm"), data=_seen(bench, 1))
    assert client.post(_at(1, "confirm"), data=_seen(bench, 1)).status_code == 422
    answer = client.post(_at(1, "reopen"), data=_seen(bench, 1))
    assert answer.headers["location"].endswith(f"#{place(1)}")
    assert _states(bench)[0] == "proposed"
    assert [e.kind for e in bench.store.events(ID)] == ["confirm", "reopen"]


def test_a_finding_without_a_part_is_not_confirmed(client: TestClient, bench: Bench) -> None:
    answer = client.post(_at(6, "confirm"), data=_seen(bench, 6))
    assert answer.status_code == 422
    assert "correct it and choose the part" in answer.text
    assert bench.store.events(ID) == []


def test_adding_by_hand(client: TestClient, bench: Bench) -> None:
    assert client.get(f"{PAGE}/add").status_code == 200
    fields = {
        "component": "frame",
        "measure": "diagonal",
        "value": "142 3/16",
        "unit": "[in_i]",
        "index": "2",
    }
    assert client.post(f"{PAGE}/add", data=fields).status_code == 422
    assert client.post(f"{PAGE}/add", data=fields | {"reason": "measured again"}).status_code == 303
    case = load_case(bench.store, ID)
    assert case is not None and case.record is not None
    added = case.record.findings[-1]
    assert added.reading is not None and added.review is not None
    assert (added.component, added.position.index, added.review.state) == ("frame", 2, "added")
    assert added.reading.value == Decimal("142.1875")
    assert "right front to left rear frame" in client.get(PAGE).text


def test_confirming_together_leaves_every_doubt_open(client: TestClient, bench: Bench) -> None:
    assert "Confirm the 2 without a doubt" in client.get(PAGE).text
    assert client.post(f"{PAGE}/confirm-plain", data=_whole(client)).status_code == 303
    assert _states(bench) == ["confirmed", "confirmed", "proposed", "proposed", "proposed", "proposed"]


def test_two_reviewers_at_once_see_both_values(client: TestClient, bench: Bench) -> None:
    stale = _seen(bench, 3)
    client.post(_at(3, "take"), data=stale | {"value": "13.5", "unit": "[psi]"})
    answer = client.post(_at(3, "confirm"), data=stale | {"saw": "cooling system, pressure 30.5 psi"})
    assert answer.status_code == 409
    assert "Confirm: cooling system, pressure 30.5 psi" in answer.text
    assert "cooling system, pressure 13.5 psi (corrected)" in answer.text
    assert "corrected by Ana Cole" in answer.text
    fields = {"component": "radiator", "measure": "pressure", "value": "14", "unit": "[psi]", "reason": "r"}
    answer = client.post(_at(3, "correct"), data=stale | fields)
    assert answer.status_code == 409
    assert "to: radiator pressure 14 psi" in answer.text
    assert len(bench.store.events(ID)) == 1
    # what somebody decided about another finding does not get in the way
    seen = _seen(bench, 2)
    client.post(_at(1, "confirm"), data=_seen(bench, 1))
    assert client.post(_at(2, "confirm"), data=seen).status_code == 303


def test_nothing_is_confirmed_that_was_not_on_the_page(client: TestClient, bench: Bench) -> None:
    stale, whole = _seen(bench, 1), _whole(client)
    record = draft(bench.audio, bench.photo)
    first = record.findings[0]
    reading = Reading(measure="thickness", value=Decimal("2.0"), unit="mm", as_given="two")
    changed = first.model_copy(update={"reading": reading})
    bench.store.put_draft(ID, record.model_copy(update={"findings": (changed, *record.findings[1:])}))
    assert client.post(_at(1, "confirm"), data=stale).status_code == 409
    assert client.post(f"{PAGE}/confirm-plain", data=whole).status_code == 409
    assert client.post(f"{PAGE}/sign", data=whole | {"by": "Ana"}).status_code == 409
    assert bench.store.events(ID) == []


def test_a_decision_does_not_outlive_a_new_draft(client: TestClient, bench: Bench) -> None:
    client.post(_at(1, "confirm"), data=_seen(bench, 1))
    record = draft(bench.audio, bench.photo)
    first = record.findings[0].model_copy(update={"attention": ("The new photo shows 2.0 mm.",)})
    bench.store.put_draft(ID, record.model_copy(update={"findings": (first, *record.findings[1:])}))
    assert _states(bench)[0] == "proposed"
    text = client.get(PAGE).text
    assert "The new photo shows 2.0 mm." in text
    assert "This changed after Ana Cole decided about it" in text


def _decide_all(client: TestClient, bench: Bench) -> None:
    client.post(f"{PAGE}/confirm-plain", data=_whole(client))
    for number in (3, 4, 5):
        assert client.post(_at(number, "confirm"), data=_seen(bench, number)).status_code == 303
    answer = client.post(_at(6, "reject"), data=_seen(bench, 6) | {"reason": "which battery?"})
    assert answer.headers["location"] == f"{PAGE}?said=reject#sign"


def test_signing_is_refused_until_everything_is_decided(client: TestClient, bench: Bench) -> None:
    answer = client.post(f"{PAGE}/sign", data=_whole(client) | {"by": "Ana Cole"})
    assert answer.status_code == 422
    assert f'<a href="#{place(6)}">Decide about finding 6: part not said, voltage 12.64 V.</a>' in (
        answer.text
    )
    _decide_all(client, bench)
    answer = client.post(f"{PAGE}/sign", data=_whole(client) | {"by": "  "})
    assert answer.status_code == 422
    assert 'href="#by"' in answer.text
    assert bench.store.signed(ID) is None


def test_a_signed_record_is_frozen_and_given_out(client: TestClient, bench: Bench) -> None:
    assert client.get(f"/api/records/{ID}").status_code == 404
    assert client.get("/api/records").json() == []
    _decide_all(client, bench)
    seen = _seen(bench, 1)
    assert client.post(f"{PAGE}/sign", data=_whole(client) | {"by": "Ana Cole"}).status_code == 303
    signed = bench.store.signed(ID)
    assert signed is not None and signed.signature is not None
    assert signed.signature.by == "Ana Cole"
    text = client.get(PAGE).text
    assert "Signed by Ana Cole" in text
    assert signed.signature.sha256 in text
    main = text[text.index("<main") :].split("<dialog")[0]
    assert re.findall(r'<form[^>]* action="([^"]*)"', main) == [f"{PAGE}/amend"]
    assert client.post(_at(1, "reopen"), data=seen).status_code == 409
    assert client.post(f"{PAGE}/sign", data={"by": "B"}).status_code == 409
    assert client.get(_at(1, "edit")).status_code == 404
    assert client.get(f"/api/records/{ID}").json() == signed.to_json()
    (line,) = client.get("/api/records").json()
    assert line["sha256"] == signed.signature.sha256
    assert client.get("/api/record.schema.json").json()["title"] == "Droplight inspection record"
    assert "/api/records/{id}" in client.get("/api/openapi.json").json()["paths"]


def test_an_inspection_without_a_draft_says_so(client: TestClient, bench: Bench) -> None:
    other = "11111111-3a3f-4f5c-9a7c-5c7f0a1b2c3d"
    row = bench.store.inspection(ID)
    assert row is not None
    later = datetime(2026, 11, 21, tzinfo=UTC)
    bench.store.add_inspection(row.model_copy(update={"id": other, "unit": None, "started_at": later}))
    assert "still being drafted" in client.get(f"/inspections/{other}").text
    assert "Unit not named" in client.get("/").text
    assert client.get(f"/inspections/{other}/add").status_code == 404


def test_unknown_addresses_get_a_page(client: TestClient) -> None:
    for address in ("/nowhere", "/inspections/none", _at(99, "edit"), "/?start=x"):
        answer = client.get(address)
        assert answer.status_code in {400, 404}
        assert "That did not work" in answer.text
    assert client.post(_at(99, "confirm"), data={"saw": "x"}).status_code == 409
    answer = client.get("/api/records/none")
    assert answer.headers["content-type"] == "application/problem+json"


def test_many_inspections_come_in_pages(client: TestClient, bench: Bench) -> None:
    for n in range(51):
        id = f"22222222-3a3f-4f5c-9a7c-{n:012d}"
        add_inspection(bench.store, draft(bench.audio, bench.photo, id=id, unit=f"T{n}"))
    text = client.get("/").text
    assert text.count('<th scope="row"><a') == 50
    assert 'href="/?start=50"' in text
    assert client.get("/?start=50").text.count('<th scope="row"><a') == 2
