"""The vocabulary: every identifier of the record format is there, and a wrong file is named."""

import re
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
import yaml

from models.places import AXES, Position
from models.units import UNITS
from models.vocabulary import VocabularyError, load_vocabulary

CONDITIONS = {
    "ok", "leak", "seep", "torn", "cracked", "worn", "loose", "noise", "pulsation", "seized", "scored",
    "heat_checked", "glazed", "contaminated", "corroded", "bent", "broken", "missing", "soft", "clogged",
    "uneven_wear", "out_of_adjustment",
}  # fmt: skip
ACTIONS = {
    "keep", "monitor", "clean", "adjust", "tighten", "resurface", "repair", "replace", "measure_again",
}  # fmt: skip
AXES_OF = {
    "brake_pad": ("side", "axle", "face"),
    "brake_rotor": ("side", "axle", "spot"),
    "tie_rod_end": ("side", "face"),
    "ball_joint": ("side", "level"),
    "hub_bearing": ("side", "axle"),
    "tire": ("side", "axle", "spot"),
    "radiator_hose": ("level",),
    "frame": ("index",),
    "battery": (),
}


def shipped() -> dict[str, Any]:
    """The shipped vocabulary with one part left, as data."""
    data = yaml.safe_load(Path(str(files("config") / "vocabulary.yaml")).read_text(encoding="utf-8"))
    part = {"axes": ["side", "axle"], "words": ["pad"], "measures": {"thickness": {"mm": [0, 25]}}}
    return {**data, "components": {"brake_pad": part}}


def written(folder: Path, data: object) -> Path:
    path = folder / "vocabulary.yaml"
    path.write_text(data if isinstance(data, str) else yaml.safe_dump(data), encoding="utf-8")
    return path


def test_conditions_and_actions_are_those_of_the_record_format() -> None:
    vocabulary = load_vocabulary()
    assert set(vocabulary.conditions) == CONDITIONS
    assert set(vocabulary.actions) == ACTIONS


def test_parts_have_the_places_of_the_record_format() -> None:
    parts = load_vocabulary().components
    assert {name: parts[name].axes for name in AXES_OF} == AXES_OF
    assert len(parts) >= 73


def test_every_place_word_is_a_place() -> None:
    for axis, values in load_vocabulary().places.items():
        assert axis in AXES
        for name in values:
            Position.model_validate({axis: name})


def test_every_range_is_of_a_unit_and_holds_something() -> None:
    for name, part in load_vocabulary().components.items():
        assert part.words, name
        for measure, ranges in part.measures.items():
            dimensions = {UNITS[unit].dimension for unit in ranges}
            assert len(dimensions) == 1, (name, measure)
            assert all(low < high for low, high in ranges.values())


def test_no_words_name_two_parts() -> None:
    owner: dict[str, str] = {}
    for name, part in load_vocabulary().components.items():
        for words in part.words:
            assert owner.setdefault(words, name) == name


def test_plausible_ranges() -> None:
    vocabulary = load_vocabulary()
    assert vocabulary.plausible("brake_pad", "thickness", "mm") == (Decimal(0), Decimal(25))
    assert vocabulary.plausible("brake_pad", "thickness", "V") is None
    assert vocabulary.plausible("brake_pad", "camber", "deg") is None
    assert vocabulary.plausible("flux_capacitor", "voltage", "V") is None
    assert vocabulary.label("tie_rod_end") == "tie rod end"


def test_a_file_of_the_shop(tmp_path: Path) -> None:
    vocabulary = load_vocabulary(written(tmp_path, shipped()))
    assert list(vocabulary.components) == ["brake_pad"]


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ({"axes": ["side", "storey"]}, "storey"),
        ({"measures": {"thicknes": {"mm": [0, 25]}}}, "thicknes"),
        ({"measures": {"thickness": {"furlong": [0, 25]}}}, "furlong"),
        ({"measures": {"thickness": {"mm": [25, 0]}}}, "bad range"),
        ({"measures": {"thickness": {"mm": [0]}}}, "brake_pad.measures.thickness"),
        ({"words": "pad"}, "brake_pad.words"),
        ({"beside": "brake_pat"}, "brake_pad.beside: 'brake_pat' is not a component"),
        ({"wrods": ["pad"]}, "brake_pad.wrods"),
    ],
)
def test_a_wrong_part_is_named_with_what_is_wrong(tmp_path: Path, part: dict[str, Any], words: str) -> None:
    data = shipped()
    data["components"]["brake_pad"].update(part)
    path = written(tmp_path, data)
    with pytest.raises(VocabularyError) as raised:
        load_vocabulary(path)
    assert str(path) in str(raised.value)
    assert words in str(raised.value)


def test_a_key_that_does_not_exist_is_named(tmp_path: Path) -> None:
    with pytest.raises(VocabularyError, match="langauge"):
        load_vocabulary(written(tmp_path, {**shipped(), "langauge": "en"}))


def test_actions_are_told_with_every_form_of_their_verbs() -> None:
    said = load_vocabulary().action_phrases()
    assert {"swap it", "needs changing", "has to be replaced", "replace"} <= set(said["replace"])
    assert {"weld it", "needs welding", "needs to be welded"} <= set(said["repair"])


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("action_ways", ["needs {doing} {soon}"], "'needs {doing} {soon}' may hold {do}, {doing} or {done}"),
        ("action_verbs", {"throw": [["throw", "throwing", "thrown"]]}, "'throw' is not under actions"),
    ],
)
def test_a_wrong_way_to_tell_an_action_is_named(tmp_path: Path, key: str, value: Any, words: str) -> None:
    path = tmp_path / "vocabulary.yaml"
    path.write_text(yaml.safe_dump({**shipped(), key: value}), encoding="utf-8")
    with pytest.raises(VocabularyError, match=re.escape(words)):
        load_vocabulary(path)


def test_a_file_that_is_no_yaml_is_said(tmp_path: Path) -> None:
    with pytest.raises(VocabularyError, match="cannot be read as YAML"):
        load_vocabulary(written(tmp_path, "language: ["))


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(VocabularyError, match=r"gone\.yaml"):
        load_vocabulary(tmp_path / "gone.yaml")


def test_a_file_that_is_a_list_is_said(tmp_path: Path) -> None:
    with pytest.raises(VocabularyError, match="name: value"):
        load_vocabulary(written(tmp_path, "- one\n"))
