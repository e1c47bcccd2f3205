import json
import uuid
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from models import capture, events, places, record
from models.estimate import Estimate, EstimateLine
from models.places import Position
from models.signing import sign
from models.units import UNITS
from pipelines.delivery.schema import record_schema, schema_text

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
formats = FormatChecker(formats=())


@formats.checks("date-time", raises=ValueError)
def _is_time(value: object) -> bool:
    return not isinstance(value, str) or datetime.fromisoformat(value).tzinfo is not None


@formats.checks("uuid", raises=ValueError)
def _is_uuid(value: object) -> bool:
    return not isinstance(value, str) or str(uuid.UUID(value)) == value.lower()


VALIDATOR = Draft202012Validator(record_schema(), format_checker=formats)


def _errors(data: Any) -> list[str]:
    plain = json.loads(json.dumps(data))
    return [f"{e.json_path}: {e.message}" for e in VALIDATOR.iter_errors(plain)]


def _full_draft() -> record.Record:
    limit = record.LimitUsed(
        id="pads",
        sentence="at least 3.2 mm",
        kind="regulation",
        source="49 CFR 393.47(d)",
        jurisdiction="US",
        as_of="2026-08-01",
        result="near limit",
    )
    verdict = record.Verdict(
        word="near limit",
        sentence="3.50 mm is 0.3 mm above the limit.",
        limit=limit,
        others=(limit,),
        bounds=(Decimal("3.2"), None),
        bounds_unit="mm",
    )
    sound = record.Evidence(kind="audio", capture="a" * 64, text="three point five", start_s=1.5, end_s=3.0)
    photo = record.Evidence(kind="photo", capture="b" * 64, text="3.50", box=(10, 20, 30, 40))
    suggestion = record.Suggestion(
        rule="pulsation-pads",
        component="brake_pad",
        action="replace",
        sentence="Where a brake pulsates its pads are changed.",
        kind="common practice",
        source="common practice of the trade",
        because=(str(uuid.uuid4()),),
    )
    pad = record.Finding(
        id=str(uuid.uuid4()),
        component="brake_pad",
        position=Position(side="left", axle="front", face="outer"),
        reading=record.Reading(measure="thickness", value=Decimal("3.50"), unit="mm", as_given="3.50"),
        conditions=("worn",),
        action="replace",
        confidence=0.9,
        alternatives=(record.Alternative(value=Decimal("3.80"), unit="mm", weight=0.1),),
        attention=("Voice and photo differ.",),
        evidence=(sound, photo),
        verdict=verdict,
        suggestions=(suggestion,),
    )
    diagonal = record.Finding(
        id=str(uuid.uuid4()), component="frame", position=Position(index=2), confidence=0.5
    )
    tread = record.Finding(
        id=str(uuid.uuid4()),
        component="tire",
        position=Position(axle="axle_3", spot="middle"),
        confidence=1.0,
    )
    head = record.Inspection(
        id=str(uuid.uuid4()),
        unit="417",
        odometer=record.Odometer(value=Decimal(112306), unit="[mi_i]"),
        started_at=AT,
        ended_at=AT,
    )
    captures = (
        capture.Capture(
            sha256="a" * 64,
            kind="audio",
            original_name="note.m4a",
            size=10,
            captured_at=AT,
            time_source="container",
            zone_known=True,
            duration_s=12.5,
        ),
        capture.Capture(
            sha256="b" * 64,
            kind="photo",
            original_name="x.jpg",
            size=10,
            captured_at=AT,
            time_source="exif",
            zone_known=False,
            width=640,
            height=480,
        ),
    )
    worn = record.Wear(
        finding=pad.id,
        component="brake_pad",
        position=pad.position,
        measure="thickness",
        value=Decimal("3.50"),
        unit="mm",
        since=AT,
        change=Decimal("-0.50"),
        readings=2,
        rate=Decimal("-0.1"),
        rate_per="1000 mi",
        limit_within=(Decimal(3), None),
        sentence="0.5 mm less than on 2026-11-20 (4 mm).",
    )
    asked = record.PlanItem(
        stop="left front",
        component="brake_pad",
        position=Position(side="left", axle="front", face="outer"),
        measure="thickness",
        state="measure again",
        why="Voice and photo differ.",
        findings=(pad.id,),
    )
    line = {"component": "brake_pad", "action": "replace", "basis": "said", "reason": "It is worn."}
    money = {"hours": "1.4", "labor": "165.20", "parts": "96.50", "total": "261.70"}
    costs = {
        "currency": "USD",
        "labor_rate": "118.00",
        "source": "price list of the garage",
        "as_of": "2026-11-01",
        "lines": [
            {
                **line,
                **money,
                "position": Position(axle="front"),
                "findings": [pad.id],
                "words": "set of pads",
            },
            {**line, "component": "tire", "findings": [tread.id], "words": "replace tire"},
        ],
        "total_said": "261.70",
        "total_further": "0.00",
        "without_figures": 1,
    }
    return record.Record(
        inspection=head,
        findings=(pad, diagonal, tread),
        estimate=Estimate.model_validate(costs),
        captures=captures,
        notices=("A file was rejected.",),
        plan_name="light_truck",
        plan=(asked,),
        wear=(worn,),
    )


def _signed() -> record.Record:
    draft = _full_draft()
    kinds = ("confirm", "reject", "confirm")
    decisions = [
        events.ReviewEvent(kind=kind, finding=f.id, by="Ana", at=AT, reason="r")
        for kind, f in zip(kinds, draft.findings, strict=True)
    ]
    return sign(events.reviewed(draft, decisions), "Ana", AT)


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(record_schema())
    assert schema_text().endswith("}\n")


def test_drafts_reviewed_drafts_and_signed_records_are_valid() -> None:
    draft = _full_draft()
    assert _errors(draft.to_json()) == []
    assert _errors(events.reviewed(draft, []).to_json()) == []
    assert _errors(_signed().to_json()) == []


def test_the_shortest_draft_of_the_format_is_valid() -> None:
    data = _full_draft().to_json()
    del data["captures"], data["notices"], data["findings"][0]["reading"]["exact"]
    del data["findings"][0]["evidence"][1]["start_s"], data["findings"][0]["evidence"][0]["box"]
    assert _errors(data) == []


def _broken(path: str, value: Any) -> dict[str, Any]:
    data = _signed().to_json()
    *steps, last = path.split(".")
    place: Any = data
    for step in steps:
        place = place[int(step)] if step.isdigit() else place[step]
    if value is KeyError:
        del place[last]
    else:
        place[last] = value
    return data


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("schema", "droplight/record/2"),
        ("inspection.id", "not a uuid"),
        ("inspection.started_at", "2026-11-20T09:30:00"),
        ("inspection.started_at", "yesterday"),
        ("findings.0.component", "flux_capacitor"),
        ("findings.0.component", None),
        ("findings.0.position.side", "driver"),
        ("findings.0.position.axle", None),
        ("findings.0.reading.measure", "width"),
        ("findings.0.reading.value", "3.5"),
        ("findings.0.reading.unit", "inches"),
        ("findings.0.reading.unit", "kPa"),
        ("findings.0.reading.exact", "3,5"),
        ("findings.0.reading.exact", KeyError),
        ("findings.0.conditions", ["dented"]),
        ("findings.0.action", "scrap"),
        ("findings.0.confidence", 1.2),
        ("findings.0.attention", [""]),
        ("findings.0.evidence.0.start_s", None),
        ("findings.0.evidence.1.box", [1, 2, 3]),
        ("findings.0.evidence.1.capture", "x"),
        ("findings.0.verdict.word", "fail"),
        ("findings.0.review.state", "proposed"),
        ("findings.0.review.by", None),
        ("findings.0.review", KeyError),
        ("findings.0.colour", "red"),
        ("findings.0.suggestions.0.action", "scrap"),
        ("plan.0.state", "skipped"),
        ("plan.0.measure", "width"),
        ("plan.0.position.face", None),
        ("estimate.total_said", 261.7),
        ("estimate.lines.0.parts", "96,50"),
        ("estimate.lines.0.findings", []),
        ("estimate.lines.0.position.face", None),
        ("estimate.lines.1.basis", "guessed"),
        ("signature", KeyError),
        ("signature.sha256", ""),
        ("inspection.state", "draft"),
    ],
)
def test_what_does_not_fit_is_refused(path: str, value: Any) -> None:
    assert _errors(_broken(path, value)) != []


def test_an_estimate_comes_back_to_the_cent_and_none_has_no_member() -> None:
    draft = _full_draft()
    data = json.loads(json.dumps(draft.to_json()))
    assert data["estimate"]["total_said"] == "261.70"
    assert data["estimate"]["lines"][0]["position"] == {"axle": "front"}
    assert record.Record.from_json(data).estimate == draft.estimate
    assert "estimate" not in draft.model_copy(update={"estimate": None}).to_json()


def _properties(name: str) -> set[str]:
    schema = record_schema()
    return set(schema["properties"] if name == "record" else schema["$defs"][name]["properties"])


@pytest.mark.parametrize(
    ("name", "model", "beyond"),
    [
        ("record", record.Record, set()),
        ("inspection", record.Inspection, set()),
        ("finding", record.Finding, set()),
        ("reading", record.Reading, {"exact"}),
        ("alternative", record.Alternative, {"exact"}),
        ("evidence", record.Evidence, set()),
        ("limit", record.LimitUsed, set()),
        ("suggestion", record.Suggestion, set()),
        ("wear", record.Wear, set()),
        ("plan_item", record.PlanItem, set()),
        ("verdict", record.Verdict, set()),
        ("review", record.Review, set()),
        ("signature", record.Signature, set()),
        ("capture", capture.Capture, set()),
        ("position", places.Position, set()),
        ("estimate", Estimate, set()),
        ("estimate_line", EstimateLine, set()),
    ],
)
def test_schema_and_models_name_the_same_fields(name: str, model: Any, beyond: set[str]) -> None:
    fields = {field.alias or key for key, field in model.model_fields.items()}
    assert _properties(name) == fields | beyond


def test_schema_and_models_know_the_same_units_and_words() -> None:
    defs = record_schema()["$defs"]
    assert defs["unit"]["enum"] == list(UNITS)
    by_dimension: dict[str, set[str]] = {}
    for unit in UNITS.values():
        by_dimension.setdefault(unit.dimension, set()).add(unit.code)
    ruled = [rule["if"]["properties"]["measure"]["enum"] for rule in defs["reading"]["allOf"]]
    assert sorted(measure for names in ruled for measure in names) == sorted(defs["measure"]["enum"])
    for rule in defs["reading"]["allOf"]:
        assert set(rule["then"]["properties"]["unit"]["enum"]) in by_dimension.values()
    fields = record.Verdict.model_fields["word"].annotation
    assert defs["verdict_word"]["enum"] == list(fields.__args__)  # type: ignore[union-attr]
    fates = record.PlanItem.model_fields["state"].annotation
    assert defs["plan_item"]["properties"]["state"]["enum"] == list(fates.__args__)  # type: ignore[union-attr]
    states = record.Review.model_fields["state"].annotation
    assert defs["review"]["properties"]["state"]["enum"] == list(states.__args__)  # type: ignore[union-attr]
