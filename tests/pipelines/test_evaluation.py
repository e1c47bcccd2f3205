"""Counts of what was right, changed, rejected and missed; nobody's name."""

import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from models.record import Evidence, Finding, Inspection, Reading, Record, Review
from models.signing import sign
from models.store import InspectionRow, Store
from pipelines.commands.main import main
from pipelines.evaluation import Share, compare, shares

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def drafted(number: int, value: str = "6.0", **more: object) -> Finding:
    base = {
        "id": str(number),
        "component": "brake_pad",
        "confidence": 0.9,
        "reading": Reading(measure="thickness", value=Decimal(value), unit="mm", as_given=value),
        "evidence": (Evidence(kind="audio", capture="a" * 64, text=value, start_s=0, end_s=1),),
    }
    return Finding.model_validate(base | more)


def decided(finding: Finding, state: str, **more: object) -> Finding:
    review = Review.model_validate({"state": state, "by": "Zoe Quill", "at": AT, "reason": "seen"})
    return finding.model_copy(update={"review": review, **more})


def records() -> tuple[Record, Record]:
    head = Inspection(id="one", unit="417", started_at=AT, ended_at=AT)
    findings = (
        drafted(1),
        drafted(2),
        drafted(3, attention=("Look.",)),
        drafted(4, component="tire"),
        drafted(5, component="cv_boot", reading=None, conditions=("torn",)),
    )
    six = Reading(measure="thickness", value=Decimal("6.5"), unit="mm", as_given="6.5")
    final = (
        decided(findings[0], "confirmed"),
        decided(findings[1], "corrected", reading=six),
        decided(findings[2], "rejected"),
        decided(findings[3], "corrected", component="brake_pad"),
        decided(findings[4], "confirmed"),
        decided(drafted(6, component="muffler", evidence=()), "added"),
        decided(drafted(7, component="muffler", evidence=()), "rejected"),
    )
    draft = Record(inspection=head, findings=findings)
    return draft, sign(draft.model_copy(update={"findings": final}), "Zoe Quill", AT)


def test_each_result_is_counted_where_it_belongs() -> None:
    judged = compare(*records())
    assert shares(judged) == {"all": Share(drafted=5, right=2, silent=2, missed=1)}
    assert shares(judged, "part") == {
        "brake_pad": Share(drafted=3, right=1, silent=1),
        "cv_boot": Share(drafted=1, right=1),
        "muffler": Share(missed=1),
        "tire": Share(drafted=1, silent=1),
    }
    assert shares(judged, "measure")["no number"] == Share(drafted=1, right=1)
    assert shares(judged, "source")["voice"] == Share(drafted=5, right=2, silent=2)


def test_a_trailing_zero_is_no_change_but_another_unit_is() -> None:
    draft, signed = records()
    reading = Reading(measure="thickness", value=Decimal("6.00"), unit="mm", as_given="x")
    same = signed.model_copy(update={"findings": (decided(draft.findings[0], "corrected", reading=reading),)})
    one = draft.model_copy(update={"findings": draft.findings[:1]})
    assert [j.result for j in compare(one, same)] == ["right"]
    inches = reading.model_copy(update={"unit": "[in_i]"})
    other = signed.model_copy(update={"findings": (decided(draft.findings[0], "corrected", reading=inches),)})
    assert [j.result for j in compare(one, other)] == ["changed"]


def test_amendments_do_not_count() -> None:
    draft, signed = records()
    head = signed.inspection.model_copy(update={"amends": "a" * 64})
    assert compare(draft, signed.model_copy(update={"inspection": head})) == []


def test_the_command_names_parts_and_no_person(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    home = tmp_path / "home"
    assert main(["--home", str(home), "evaluate"]) == 0
    assert "Nothing to compare" in capsys.readouterr().out
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    draft, signed = records()
    row = InspectionRow(id="one", unit="417", folder="", started_at=AT, ended_at=AT, state="open", version=0)
    store.add_inspection(row)
    store.put_draft("one", draft)
    store.sign("one", signed, 0)
    store.close()
    assert main(["--home", str(home), "evaluate"]) == 0
    said = capsys.readouterr().out
    assert "Zoe" not in said
    assert " ".join(next(x for x in said.splitlines() if x.startswith("all")).split()) == "all 5 40% 2 1"
    assert any(line.split() == ["brake", "pad", "3", "33%", "1", "0"] for line in said.splitlines())
    assert main(["--home", str(home), "evaluate", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["records"] == 1
    assert data["part"]["muffler"]["missed"] == 1
