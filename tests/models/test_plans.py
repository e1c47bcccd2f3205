"""Plans as shipped and as a shop writes them, and what is said of a file that is wrong."""

from pathlib import Path

import pytest

from models.limits.yaml_nodes import ConfigError
from models.places import Position
from models.plans import Plans, load_plans

HEAD = "plan: mine\nsubject: any truck\n"
STOP = "stops:\n  - stop: left front\n    at: {side: left, axle: front}\n    items:\n"


def load(folder: Path, items: str, head: str = HEAD) -> Plans:
    (folder / "mine.yaml").write_text(head + STOP + items, encoding="utf-8")
    return load_plans(folder)


def test_shipped_plans_ask_for_all_four_pads_and_both_diagonals() -> None:
    plan = load_plans().by_name["light_truck"]
    pads = [i.position for i in plan.items if i.component == "brake_pad"]
    assert len(pads) == 8
    assert Position(side="right", axle="rear", face="inner") in pads
    assert [i.position.index for i in plan.items if i.component == "frame"] == [1, 2]


def test_a_place_of_the_stop_goes_only_to_parts_that_have_it(tmp_path: Path) -> None:
    plans = load(tmp_path, "      - {component: ball_joint, measure: play, level: [upper, lower]}\n")
    assert [i.position.keys() for i in plans.by_name["mine"].items] == [
        {"side": "left", "level": "upper"},
        {"side": "left", "level": "lower"},
    ]


def test_items_stand_in_walk_round_order() -> None:
    stops = list(dict.fromkeys(i.stop for i in load_plans().by_name["two_axle_truck"].items))
    assert stops[:3] == ["cab", "left front wheel end", "right front wheel end"]


@pytest.mark.parametrize(
    ("unit", "name", "chosen"),
    [("417", "light_truck", "mine"), ("4b", None, "mine"), ("4B", None, "mine"), ("23", None, None)],
)
def test_a_plan_that_names_the_unit_goes_before_the_settings(
    tmp_path: Path, unit: str, name: str | None, chosen: str | None
) -> None:
    own = tmp_path / "plans"
    own.mkdir()
    load(own, "      - {component: brake_hose}\n", HEAD + 'units: ["41*", "4B"]\n')
    plan = load_plans(own=own).choose(unit, name)
    assert (plan.name if plan else None) == chosen


def test_the_settings_choose_where_no_plan_names_the_unit(tmp_path: Path) -> None:
    plan = load_plans().choose("23", "tandem_truck")
    assert plan is not None and plan.name == "tandem_truck"
    assert load_plans().choose(None, None) is None


def test_a_plan_of_the_shop_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    load(tmp_path, "      - {component: brake_hose}\n", "plan: light_truck\nsubject: ours\n")
    plans = load_plans(own=tmp_path)
    assert len(plans.by_name["light_truck"].items) == 1
    assert "tandem_truck" in plans.by_name


@pytest.mark.parametrize(
    ("items", "line", "words"),
    [
        ("      - {component: flux_capacitor}\n", 7, "not a part of the vocabulary"),
        (
            "      - {component: brake_pad, measure: torque}\n",
            7,
            "not measured on a brake_pad: it has thickness",
        ),
        ("      - {component: brake_hose, measure: play}\n", 7, "leave the measure out"),
        ("      - {component: brake_pad, measure: thickness, face: top}\n", 7, "'top' is no face"),
        ("      - {component: brake_hose, face: inner}\n", 7, "a brake_hose has no face"),
        ("      - {component: brake_rotor, measure: thickness, readings: 0}\n", 7, "no number of readings"),
        ("      - {component: brake_rotor, readings: 4}\n", 7, "belong to an item with a measure"),
        ("      - {component: brake_rotor, mesure: thickness}\n", 7, "'mesure' does not belong"),
        ("      - {measure: thickness}\n", 7, "needs 'component:'"),
        ("      - {component: brake_hose}\n      - {component: brake_hose}\n", 8, "asked for twice"),
        ("      - {component: radiator_cap, measure: pressure, together: [mass]}\n", 7, "not measured"),
    ],
)
def test_a_wrong_item_is_refused_with_its_line(tmp_path: Path, items: str, line: int, words: str) -> None:
    with pytest.raises(ConfigError) as error:
        load(tmp_path, items)
    assert f"mine.yaml, line {line}" in str(error.value)
    assert words in str(error.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("plan: mine\n", "needs 'subject:'"),
        (HEAD, "needs 'stops:'"),
        (HEAD + "stops: none\n", "must hold a list"),
        (HEAD + "colour: red\n", "'colour' does not belong"),
        (HEAD + "stops:\n  - stop: x\n    at: {sid: left}\n    items: []\n", "'sid' does not belong"),
        ("plan: [\n", "not YAML"),
    ],
)
def test_a_wrong_file_is_refused(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "mine.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError, match=r"mine\.yaml") as error:
        load_plans(tmp_path)
    assert words in str(error.value)


def test_two_plans_of_one_name_are_refused(tmp_path: Path) -> None:
    load(tmp_path, "      - {component: brake_hose}\n")
    (tmp_path / "other.yaml").write_text((tmp_path / "mine.yaml").read_text(), encoding="utf-8")
    with pytest.raises(ConfigError, match="is also at"):
        load_plans(tmp_path)


def test_a_chosen_plan_must_exist() -> None:
    with pytest.raises(ConfigError, match=r"'pickup'.*settings.yaml to one of light_truck"):
        load_plans(chosen=["pickup"])
