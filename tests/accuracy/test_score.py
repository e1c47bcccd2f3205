"""The scoring of drafts: what counts as right, silent, flagged."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.accuracy import score
from tests.accuracy.score import Tally, below_floors, main, marks, same_place, same_value

PAD = {
    "component": "brake_pad",
    "position": {"side": "left", "axle": "front", "face": "outer"},
    "measure": "thickness",
    "value": 6.0,
    "unit": "mm",
    "conditions": [],
    "action": None,
}


def drafted(attention: tuple[str, ...] = (), **changes: Any) -> dict[str, Any]:
    """A drafted finding of the pad, with changes."""
    entry = {**PAD, **changes}
    reading = {key: entry.pop(key) for key in ("measure", "value", "unit")}
    return {**entry, "reading": reading, "attention": list(attention)}


def tally(*findings: dict[str, Any], expected: tuple[dict[str, Any], ...] = (PAD,)) -> Tally:
    """The tally of the drafted findings against the expected ones."""
    return score.score({"findings": list(expected)}, {"findings": list(findings)})


def test_the_expected_reading_is_right() -> None:
    result = tally(drafted())
    assert (result.wanted, result.drafted, result.right, result.silent_errors) == (1, 1, 1, 0)


def test_a_wrong_value_without_attention_is_a_silent_error() -> None:
    assert tally(drafted(value=9.0)).silent_errors == 1


def test_a_wrong_value_with_attention_is_flagged_and_not_silent() -> None:
    result = tally(drafted(("heard nine or five",), value=9.0))
    assert (result.right, result.flagged, result.silent_errors) == (0, 1, 0)


def test_one_expected_reading_is_matched_once() -> None:
    result = tally(drafted(), drafted())
    assert (result.right, result.drafted, result.silent_errors) == (1, 2, 1)


@pytest.mark.parametrize(
    ("measure", "want", "got", "same"),
    [
        ("thickness", (25.4, "mm"), (1.0, "[in_i]"), True),
        ("thickness", (6.0, "mm"), (6.02, "mm"), True),
        ("thickness", (6.0, "mm"), (6.05, "mm"), False),
        ("play", (0.03, "[in_i]"), (30, "[mil_i]"), True),
        ("tread_depth", (0.21875, "[in_i]"), (7, "/32[in_i]"), True),
        ("temperature", (212.0, "[degF]"), (100.0, "Cel"), True),
        ("temperature", (212.0, "[degF]"), (211.0, "[degF]"), False),
        ("temperature_split", (9.0, "[degF]"), (5.0, "Cel"), True),
        ("temperature", (9.0, "[degF]"), (5.0, "Cel"), False),
        ("voltage_drop", (340, "mV"), (0.34, "V"), True),
        ("hold_time", (90, "s"), (1.5, "min"), True),
        ("play", (0.0, "[in_i]"), (0.0, "mm"), True),
        ("play", (0.0, "[in_i]"), (0.001, "[in_i]"), False),
        ("pressure", (15.0, "[psi]"), (15.0, "mm"), False),
        ("pressure", (15.0, "[psi]"), (15.0, "furlong"), False),
    ],
)
def test_values_are_compared_in_one_unit(
    measure: str, want: tuple[float, str], got: tuple[float, str], same: bool
) -> None:
    pair = [{"measure": measure, "value": value, "unit": code} for value, code in (want, got)]
    assert same_value(*pair) is same


@pytest.mark.parametrize(
    ("want", "got", "same"),
    [
        ("play", "axial_play", True),
        ("end_play", "play", True),
        ("axial_play", "radial_play", False),
        ("play", "free_play", False),
    ],
)
def test_play_stands_for_any_play(want: str, got: str, same: bool) -> None:
    assert score.same_measure(want, got) is same


@pytest.mark.parametrize(
    ("got", "same"),
    [
        ({"side": "left", "axle": "front"}, True),
        ({"side": "left", "axle": "front", "face": None}, True),
        ({"side": "left"}, False),
        ({"side": "left", "axle": "front", "face": "outer"}, False),
        ({"side": "right", "axle": "front"}, False),
    ],
)
def test_places_name_the_same_axes(got: dict[str, Any], same: bool) -> None:
    want = {"position": {"side": "left", "axle": "front"}}
    assert same_place(want, {"position": got}) is same


def test_a_reading_without_a_part_is_extra() -> None:
    assert tally(drafted(component=None)).silent_errors == 1


def test_conditions_and_actions_are_counted_once_a_place() -> None:
    findings = [
        {**PAD, "conditions": ["worn"], "action": "replace"},
        {**PAD, "conditions": ["worn", "ok"], "position": {"side": "left", "axle": "front", "face": "inner"}},
    ]
    assert marks(findings) == {
        ("brake_pad", "left", "front", "worn"),
        ("brake_pad", "left", "front", "action:replace"),
    }


def test_figures() -> None:
    result = Tally(wanted=4, drafted=3, right=2, flagged=1, marks_wanted=2, marks_drafted=1, marks_right=1)
    figures = result.figures()
    assert figures["recall"] == 0.5
    assert figures["precision"] == pytest.approx(2 / 3)
    assert figures["f1"] == pytest.approx(4 / 7)
    assert figures["conditions_f1"] == pytest.approx(2 / 3)
    assert figures["flagged_share"] == pytest.approx(1 / 3)
    assert Tally().figures()["f1"] == 0.0


def test_floors_and_ceilings() -> None:
    result = Tally(wanted=4, drafted=4, right=3, flagged=2, silent_errors=1)
    assert below_floors(result, {"f1": 0.7, "silent_errors": 1, "flagged_share": 0.5}) == []
    failed = below_floors(result, {"recall": 0.8, "silent_errors": 0, "flagged_share": 0.4})
    assert [sentence.split()[0] for sentence in failed] == ["recall", "silent_errors", "flagged_share"]


def test_a_floor_for_no_figure_is_refused() -> None:
    with pytest.raises(ValueError, match="no such figure: fl"):
        below_floors(Tally(), {"fl": 0.9})


def write_case(folder: Path, *findings: dict[str, Any]) -> tuple[Path, Path]:
    """One case with the pad expected, and a draft of it."""
    (folder / "cases" / "one").mkdir(parents=True)
    (folder / "drafts").mkdir()
    (folder / "cases" / "one" / "expected.json").write_text(json.dumps({"findings": [PAD]}))
    (folder / "drafts" / "one.json").write_text(json.dumps({"findings": list(findings)}))
    return folder / "cases", folder / "drafts"


def test_the_command_fails_below_the_floors(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cases, drafts = write_case(tmp_path, drafted(value=9.0))
    floors = tmp_path / "floors.yaml"
    floors.write_text("f1: 0.9\nsilent_errors: 0\n")
    assert main([str(cases), str(drafts), "--list"]) == 0
    assert main([str(cases), str(drafts), "--floors", str(floors)]) == 1
    shown = capsys.readouterr().out
    assert "missed  brake_pad left front outer thickness 6.0 mm" in shown
    assert "f1 is 0.000, below 0.9" in shown
    assert "silent_errors is 1.000, above 0" in shown


def test_a_case_without_a_draft_counts_as_missed(tmp_path: Path) -> None:
    cases, drafts = write_case(tmp_path)
    (drafts / "one.json").unlink()
    assert score.score_folder(cases, drafts)["one"].figures()["recall"] == 0.0


def test_a_folder_without_cases_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path), str(tmp_path)]) == 2
    assert "holds no case" in capsys.readouterr().err
