"""The estimate: which lines there are, why, and that its figures are the table's to the cent."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from models.estimate_words import estimate_shown
from models.limits import load_limits
from models.record import Inspection, Record, Review
from models.repairs import load_repairs
from models.rules import load_rules
from models.settings import TruckSettings
from pipelines.judging import estimate, judge

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
TABLE = """\
currency: USD
labor_rate: 118.00
source: price list of the garage
as_of: 2026-11-01
repairs:
  - {component: brake_pad, action: replace, words: set of pads, one for: [axle], hours: 1.45, parts: 96.50,
     beyond: [thickness]}
  - {component: brake_rotor, action: replace, hours: 0.8, parts: 142, beyond: [thickness]}
  - {component: brake_rotor, action: resurface, hours: 0.333, parts: 0}
"""
LEFT = {"side": "left", "axle": "front"}
RIGHT = {"side": "right", "axle": "front"}
COMMERCIAL = TruckSettings(commercial=True, brakes="hydraulic")


@pytest.fixture
def estimated(tmp_path):
    """The estimate of judged findings; further arguments take the place of parts of the table."""

    def give(findings, *, text=TABLE, limits=None):
        (tmp_path / "repairs.yaml").write_text(text, encoding="utf-8")
        judged = judge(findings, limits or load_limits(), COMMERCIAL, load_rules())
        head = Inspection(id="i", unit="417", started_at=AT, ended_at=AT)
        record = Record(inspection=head, findings=judged)
        return estimate(record, load_repairs(tmp_path / "repairs.yaml"))

    return give


@pytest.fixture
def pad(finding):
    def make(value, action=None, face="inner", **place):
        made = finding("brake_pad", "thickness", value, "mm", face=face, **(place or LEFT))
        return made.model_copy(update={"action": action})

    return make


def brief(found):
    return [(x.component, x.position.words(), x.action, x.basis, x.total) for x in found.lines]


def test_without_a_table_there_are_no_figures(pad):
    head = Inspection(id="i", started_at=AT, ended_at=AT)
    assert estimate(Record(inspection=head, findings=(pad("3", "replace"),)), None) is None


def test_nothing_to_do_is_no_line_and_nothing_is_shown(estimated, pad):
    found = estimated([pad("9")])
    assert found.lines == () and found.total_said == 0
    assert estimate_shown(found) is None


def test_pads_of_one_axle_are_one_piece_of_work(estimated, pad):
    found = estimated([pad("3", "replace"), pad("3.5", "replace", "outer", **RIGHT)])
    # 1.45 h at 118.00 = 171.10
    (line,) = found.lines
    assert (line.position.words(), line.hours, line.labor, line.parts) == (
        "front", Decimal("1.45"), Decimal("171.10"), Decimal("96.50"),
    )  # fmt: skip
    assert line.total == found.total_said == Decimal("267.60")
    assert line.findings == tuple(f"f{n}" for n in range(2))
    assert "left front inner brake pad, thickness 3 mm: “replace” was said" in line.reason
    assert "right front outer brake pad, thickness 3.5 mm: “replace” was said" in line.reason


def test_labor_is_rounded_to_the_cent_halves_up(estimated, finding):
    rotor = finding("brake_rotor", "thickness", "30", "mm", **LEFT).model_copy(update={"action": "resurface"})
    # 0.333 h at 118.00 = 39.294; at 50 = 16.65; at 15 = 4.995
    assert estimated([rotor]).lines[0].labor == Decimal("39.29")
    dear = estimated([rotor], text=TABLE.replace("118.00", "15"))
    assert dear.lines[0].labor == Decimal("5.00")


def test_a_part_to_replace_without_figures_is_listed_and_in_no_total(estimated, finding, pad):
    hose = finding("radiator_hose", "pressure", "1", "[psi]", level="upper").model_copy(
        update={"reading": None, "conditions": ("soft",), "action": "replace"}
    )
    found = estimated([hose, pad("3", "replace")])
    assert brief(found) == [
        ("radiator_hose", "upper", "replace", "said", None),
        ("brake_pad", "front", "replace", "said", Decimal("267.60")),
    ]
    assert (found.without_figures, found.total_said) == (1, Decimal("267.60"))
    shown = estimate_shown(found)
    assert shown.parts[0].rows[0].total == "no figures on file"
    assert shown.doubts[0] == "The table has no figures for 1 piece of work: it is in no total."


def test_other_work_without_figures_is_no_line(estimated, pad):
    assert estimated([pad("5", "clean"), pad("5", "monitor"), pad("5", "measure_again")]).lines == ()


def test_what_only_a_limit_calls_for_stands_apart(estimated, pad):
    # 393.47(d): 1/16 in (1.5875 mm) or less on a steering axle
    found = estimated([pad("1.5")])
    assert brief(found) == [("brake_pad", "front", "replace", "beyond limit", Decimal("267.60"))]
    assert (found.total_said, found.total_further) == (0, Decimal("267.60"))
    assert "beyond the limit" in found.lines[0].reason and "49 CFR 393.47(d)" in found.lines[0].reason
    assert estimated([pad("1.6")]).lines == ()
    silent = TABLE.replace(",\n     beyond: [thickness]}", "}")
    assert estimated([pad("1.5")], text=silent).lines == ()


def test_a_suggestion_is_listed_and_what_a_person_said_goes_before_it(estimated, finding, limits):
    on_file = limits(
        "- {id: r, component: brake_rotor, measure: thickness, subject: rotor, more than: 36.5,"
        " refinish: 37.0}"
    )
    rotor = finding("brake_rotor", "thickness", "37.5", "mm", **LEFT)
    shaking = rotor.model_copy(update={"conditions": ("pulsation",)})
    found = estimated([shaking], limits=on_file)
    assert brief(found) == [
        ("brake_pad", "front", "replace", "suggested", Decimal("267.60")),
        ("brake_rotor", "left front", "resurface", "suggested", Decimal("39.29")),
    ]
    assert "Where a brake pulsates" in found.lines[0].reason
    decided = estimated([shaking.model_copy(update={"action": "replace"})], limits=on_file)
    assert ("brake_rotor", "left front", "replace", "said", Decimal("236.40")) in brief(decided)
    assert not any(x.component == "brake_rotor" and x.basis == "suggested" for x in decided.lines)


def test_rejected_findings_count_for_nothing_and_who_answers_is_told(estimated, pad):
    no = pad("3", "replace").model_copy(update={"review": Review(state="rejected", by="Ana", at=AT)})
    yes = pad("3", "replace", axle="rear", side="left").model_copy(
        update={"review": Review(state="confirmed", by="Ana", at=AT)}
    )
    (line,) = estimated([no, yes]).lines
    assert line.position.words() == "rear"
    assert "“replace” was said, and answered for by Ana" in line.reason


def test_the_words_for_people(estimated, pad):
    shown = estimate_shown(estimated([pad("3", "replace"), pad("1.5", axle="rear", side="left")]))
    assert shown.whose == "By price list of the garage, as of 2026-11-01; labor at 118.00 USD an hour."
    said, further = shown.parts
    assert (said.title, said.total) == ("What was said to be done", "267.60 USD")
    assert said.rows[0].work == "Front brake pad: set of pads"
    assert (said.rows[0].hours, said.rows[0].labor, said.rows[0].parts) == (
        "1.45 h",
        "171.10 USD",
        "96.50 USD",
    )
    assert "nobody has decided" in further.title
    assert shown.doubts[-1].startswith("An estimate is no offer")
