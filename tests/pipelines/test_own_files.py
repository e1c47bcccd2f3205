"""A shop's own limits, plans, rules and table of work, from the data folder to the printed report.

Published: 49 CFR 393.47(d), more than 1/16 in of lining on a steering axle with hydraulic brakes. The other
numbers are those of a made-up shop.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.capture import Capture
from models.record import Finding, Record, Review
from models.settings import load_settings
from models.signing import sign
from models.store import Store
from pipelines.delivery.report import Report
from pipelines.order import advance
from pipelines.workshop import Workshop, shop_limits, shop_plans, shop_repairs, shop_rules
from tests.doubles import Scripted, workshop, write_note
from tests.pipelines.printed import Printed, both, report_of, squeezed

NOW = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)
SAID = (
    "Starting inspection, unit four one seven. Left front outer pad, six millimeters. "
    "Left front hub bearing growls."
)
FILES = {
    "settings.yaml": "shop: Quarry Fork\ntruck: {commercial: true, brakes: hydraulic, plan: brakes_only}\n",
    "limits/pads.yaml": """\
kind: shop rule
source: Quarry Fork inspection sheet
seen: not published
jurisdiction: none
as_of: 2026-11-01
unit: mm
near: 10 %
limits:
  - {id: own-pad, component: brake_pad, measure: thickness, subject: brake pad, at least: 7}
""",
    "plans/brakes.yaml": """\
plan: brakes_only
subject: any truck, brakes
stops:
  - stop: left front wheel end
    at: {side: left, axle: front}
    items:
      - {component: brake_pad, measure: thickness, face: [outer, inner]}
      - {component: brake_hose}
""",
    "rules.yaml": """\
rules:
  - id: own-hubs
    sentence: At Quarry Fork a hub that growls is replaced the same day.
    kind: shop rule
    source: Quarry Fork inspection sheet
    when: {component: hub_bearing, condition: noise}
    then: {action: replace}
off: [hub-growl]
""",
    "repairs.yaml": """\
currency: USD
labor_rate: 100.00
source: Quarry Fork price list
as_of: 2026-11-01
repairs:
  - component: brake_pad
    action: replace
    words: set of pads for an axle
    one for: [axle]
    hours: 1.4
    parts: 96.50
    beyond: [thickness]
  - {component: hub_bearing, action: replace, words: hub unit, hours: 2, parts: 210}
""",
}


def own_shop(home: Path, files: Mapping[str, str]) -> Workshop:
    """The tools with the files of the data folder, and a listener that hears what is said."""
    for name, text in files.items():
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_text(text, encoding="utf-8")
    settings = load_settings(home)
    return replace(
        workshop(home, Scripted([SAID])),
        settings=settings,
        limits=shop_limits(settings),
        plans=shop_plans(settings),
        rules=shop_rules(settings),
        repairs=shop_repairs(settings),
    )


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return drafted(tmp_path, FILES)


def drafted(folder: Path, files: Mapping[str, str]) -> Record:
    """The draft from one note, by the shop's own files."""
    home, inbox = folder / "home", folder / "inbox"
    shop = own_shop(home, files)
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    try:
        note = write_note(inbox / "20261120T081500.wav")
        taken = ingest(note, inbox, store, home, NOW, shop.originals)
        assert isinstance(taken, Capture)
        inspection = advance(store, taken.sha256, shop)
        assert inspection is not None
        draft = store.draft(inspection)
    finally:
        store.close()
    assert draft is not None
    return draft


@pytest.fixture
def signed(record: Record) -> Report:
    decided = tuple(
        f.model_copy(update={"review": Review(state="confirmed", by="Ana", at=NOW)}) for f in record.findings
    )
    whole = sign(record.model_copy(update={"findings": decided}), "Ana", NOW)
    return report_of(whole)


def named(record: Record, component: str) -> Finding:
    (found,) = (f for f in record.findings if f.component == component)
    return found


def test_the_shop_s_limit_governs_and_the_published_ones_are_listed(record: Record) -> None:
    verdict = named(record, "brake_pad").verdict
    assert verdict is not None and verdict.limit is not None
    assert (verdict.word, verdict.limit.id, verdict.limit.kind) == ("beyond limit", "own-pad", "shop rule")
    assert [(o.id, o.result) for o in verdict.others] == [
        ("393-47-steering-hydraulic-brake-pad", "within limit"),
        ("396-a-steering-hydraulic-disc", "within limit"),
    ]
    assert "By 49 CFR 393.47(d) it is within limit (more than 1/16 in)." in verdict.sentence


def test_the_shop_s_plan_says_what_is_missing(record: Record) -> None:
    states = [(i.component, i.position.face, i.state, i.why) for i in record.plan]
    assert states == [
        ("brake_pad", "outer", "done", ""),
        ("brake_pad", "inner", "missing", "not measured yet"),
        ("brake_hose", None, "missing", "not looked at yet"),
    ]


def test_the_shop_s_rule_speaks_and_the_one_switched_off_does_not(record: Record) -> None:
    (suggestion,) = named(record, "hub_bearing").suggestions
    assert (suggestion.rule, suggestion.action, suggestion.kind) == ("own-hubs", "replace", "shop rule")
    assert suggestion.sentence.startswith("At Quarry Fork a hub that growls is replaced the same day.")


def test_the_shop_s_table_gives_a_line_for_each_piece_of_work(record: Record) -> None:
    assert record.estimate is not None
    lines = [(e.words, e.basis, e.hours, e.labor, e.parts, e.total) for e in record.estimate.lines]
    # 2 h and 1.4 h at 100.00 an hour
    assert lines == [
        ("hub unit", "suggested", *map(Decimal, ("2", "200.00", "210.00", "410.00"))),
        ("set of pads for an axle", "beyond limit", *map(Decimal, ("1.4", "140.00", "96.50", "236.50"))),
    ]
    assert record.estimate.total_further == Decimal("646.50")
    assert record.estimate.total_said == 0


@both
def test_the_printed_report_tells_all_of_it(signed: Report, printed: Printed) -> None:
    text = squeezed(printed(signed))
    for told in (
        "6 mm is beyond the limit: brake pad: at least 7 mm [shop rule: Quarry Fork inspection sheet; as of:",
        "By 49 CFR 393.47(d) it is within limit (more than 1/16 in).",
        "steering axle: more than 1/16 in (regulation: 49 CFR 393.47(d)",
        "At Quarry Fork a hub that growls is replaced the same day.",
        "2 planned items were not measured",
        "hub unit",
        "set of pads for an axle",
        "410.00 USD",
        "236.50 USD",
        "By Quarry Fork price list, as of 2026-11-01; labor at 100.00 USD an hour.",
    ):
        assert squeezed(told) in text, told
    missing = text[text.rindex(squeezed("What was planned and not measured")) :]
    assert squeezed("left front inner brake pad") in missing
    assert squeezed("left front brake hose") in missing
    assert "outerbrakepad" not in missing


def test_without_the_files_none_of_it_is_there(tmp_path: Path) -> None:
    record = drafted(tmp_path, {"settings.yaml": "truck: {commercial: true, brakes: hydraulic}\n"})
    verdict = named(record, "brake_pad").verdict
    assert verdict is not None and verdict.word == "within limit"
    assert [s.rule for s in named(record, "hub_bearing").suggestions] == ["hub-growl"]
    assert (record.plan, record.estimate) == ((), None)
