"""Rules as shipped and as a shop writes them, and what is said of a file that is wrong."""

from pathlib import Path

import pytest

from models.limits.yaml_nodes import ConfigError
from models.rules import Rules, load_rules

WHEN = "{component: hub_bearing, condition: noise}"


def entry(**fields: str) -> str:
    given = {
        "id": "mine",
        "sentence": "So it is done.",
        "kind": "shop rule",
        "source": "the shop",
        "when": WHEN,
        "then": "{action: replace}",
    } | fields
    return "  - {" + ", ".join(f"{name}: {value}" for name, value in given.items() if value) + "}\n"


def load(folder: Path, text: str) -> Rules:
    path = folder / "rules.yaml"
    path.write_text(text, encoding="utf-8")
    return load_rules(own=path)


def test_every_shipped_rule_says_that_it_is_common_practice() -> None:
    rules = load_rules()
    assert len(rules) == 6
    assert {(rule.kind, rule.source) for rule in rules} == {
        ("common practice", "common practice of the trade, no published source")
    }


def test_a_shop_adds_replaces_and_switches_off(tmp_path: Path) -> None:
    rules = load(tmp_path, f"rules:\n{entry()}{entry(id='hub-growl', source='us')}off: [pulsation-pads]\n")
    sources = {rule.id: rule.source for rule in rules}
    assert "pulsation-pads" not in sources
    assert (sources["mine"], sources["hub-growl"]) == ("the shop", "us")
    assert len(rules) == len(load_rules())


def test_no_file_of_the_shop_changes_nothing(tmp_path: Path) -> None:
    assert load_rules(own=tmp_path / "rules.yaml") == load_rules()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"when": "{component: hub, condition: noise}"}, "'hub' is not a part of the vocabulary"),
        ({"when": "{component: hub_bearing, condition: loud}"}, "'loud' is not a condition"),
        ({"when": "{component: hub_bearing}"}, "speak of every such part"),
        ({"when": "{condition: noise}"}, "needs 'component:'"),
        ({"when": "{component: hub_bearing, measure: play}"}, "a reading takes measure, unit"),
        ({"when": "{component: hub_bearing, measure: play, more than: 0, at least: 0, unit: mm}"}, "either"),
        (
            {"when": "{component: hub_bearing, measure: play, more than: 0, unit: kPa}"},
            "does not measure play",
        ),
        ({"when": "{component: hub_bearing, measure: play, more than: x, unit: mm}"}, "not a number"),
        ({"when": "{component: hub_bearing, words: ['--']}"}, "letters or digits"),
        ({"when": "{component: hub_bearing, moves: [pressure]}"}, "not something that play can move"),
        ({"when": "{component: hub_bearing, condition: noise, truck: {colour: blue}}"}, "can depend on"),
        ({"then": "{component: hub_bearing}"}, "needs 'action:'"),
        ({"then": "{action: scrap}"}, "not an action"),
        ({"then": "{action: [replace, keep]}"}, "takes one word"),
        ({"then": "{action: replace, same: [colour]}"}, "not a place"),
        ({"kind": "folklore"}, "not a kind of rule"),
        ({"sentence": ""}, "needs 'sentence:'"),
        ({"colour": "red"}, "'colour' does not belong"),
    ],
)
def test_a_wrong_rule_is_refused_with_its_line(tmp_path: Path, fields: dict[str, str], words: str) -> None:
    with pytest.raises(ConfigError, match=r"rules\.yaml, line 2") as error:
        load(tmp_path, "rules:\n" + entry(**fields))
    assert words in str(error.value)


def test_an_id_given_twice_and_one_that_is_not_there_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=r"line 3: the id 'mine' is already used"):
        load(tmp_path, "rules:\n" + entry() + entry())
    with pytest.raises(ConfigError, match="no rule 'growl' to switch off"):
        load(tmp_path, "off: [growl]\n")
