"""The call-back list as a technician reads it on the terminal."""

from datetime import UTC, datetime

from models.places import Position
from models.plans import load_plans
from models.plans_check import checked
from models.record import Finding, Inspection, Record
from pipelines.commands.call_back import call_back_lines

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def record(*findings: Finding, plan: str | None = "light_truck") -> Record:
    items = load_plans().by_name[plan].items if plan else ()
    head = Inspection(id="x", started_at=AT, ended_at=AT)
    return checked(Record(inspection=head, findings=findings, plan_name=plan, plan=items))


def test_what_is_missing_stands_in_one_line_for_each_stop() -> None:
    lines = call_back_lines(record())
    assert lines[0] == "Still missing (52):"
    assert lines[2].startswith(
        "  left front wheel end: tire tread depth, tire pressure, outer brake pad thickness,"
    )
    assert "outer tie rod end play, hub bearing play, brake hose" in lines[2]
    assert len(lines) == 9


def test_doubts_come_first_with_their_reason() -> None:
    doubtful = Finding(
        id="a", component="starter", position=Position(), confidence=0.4, attention=("Hardly heard.",)
    )
    lines = call_back_lines(record(doubtful))
    assert lines[:2] == ["Measure or say again (1):", "  starter: Hardly heard."]


def test_many_doubts_are_cut_short() -> None:
    doubts = [Finding(id=str(n), component="starter", confidence=0.4, attention=("?",)) for n in range(15)]
    assert call_back_lines(record(*doubts, plan=None))[-1] == "  and 3 more"


def test_an_empty_list_is_said_only_where_a_plan_was_asked() -> None:
    assert call_back_lines(record(plan=None)) == []
    done = record().model_copy(update={"plan": ()})
    assert call_back_lines(done) == ["Nothing is missing: everything on the plan is measured."]
