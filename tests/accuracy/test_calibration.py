"""Counting how often what was sure was right."""

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from models.store import Store
from tests.accuracy.calibration import bands, judged, main
from tests.accuracy.test_score import PAD, drafted
from tests.pipelines.notes.saying import transcript

LAMP = {"component": "lamp", "position": {"side": "left"}, "conditions": ["broken"], "action": "replace"}


def found(entry: dict[str, Any], confidence: float, attention: tuple[str, ...] = ()) -> dict[str, Any]:
    """A drafted finding with its confidence."""
    return {**entry, "confidence": confidence, "attention": list(attention)}


def test_each_finding_counts_in_its_band() -> None:
    draft = [found(drafted(), 0.95), found(drafted(value=9.0), 0.9), found(drafted(value=8.0), 0.85, ("?",))]
    table = bands(list(judged({"findings": [PAD]}, {"findings": draft})))
    assert {least: (band.made, band.right) for least, band in table.items() if band.made} == {
        0.9: (2, 1),
        0.8: (1, 0),
    }
    assert table[0.9].wrong == ["0.900  brake_pad left front outer thickness 9.0 mm"]


def test_two_equal_readings_are_right_once() -> None:
    draft = [found(drafted(), 1.0), found(drafted(), 1.0)]
    assert [one.right for one in judged({"findings": [PAD]}, {"findings": draft})] == [True, False]


@pytest.mark.parametrize(
    ("changes", "right"),
    [
        ({}, True),
        ({"action": None}, True),
        ({"conditions": ["cracked"]}, False),
        ({"position": {"side": "left", "axle": "front"}}, False),
    ],
)
def test_a_finding_without_a_reading_needs_all_its_marks(changes: dict[str, Any], right: bool) -> None:
    draft = [found({**LAMP, "reading": None, **changes}, 1.0)]
    assert [one.right for one in judged({"findings": [LAMP]}, {"findings": draft})] == [right]


def test_findings_with_and_without_attention_can_be_counted_apart() -> None:
    draft = [found(drafted(), 0.5, ("listen",)), found(drafted(value=9.0), 0.5)]
    claimed = list(judged({"findings": [PAD]}, {"findings": draft}))
    assert [bands(claimed, asks=asks)[0.5].right for asks in (True, False, None)] == [1, 0, 1]


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    """One case with one recording, of which a pad of 6 mm is expected."""
    inbox = tmp_path / "cases" / "one" / "inbox"
    inbox.mkdir(parents=True)
    (inbox / "note.wav").write_bytes(b"sound")
    (inbox.parent / "expected.json").write_text(json.dumps({"findings": [PAD]}))
    return tmp_path / "cases"


@pytest.mark.parametrize(("said", "status"), [("six", 0), ("nine", 1)])
def test_kept_transcripts_are_read_again(
    cases: Path, tmp_path: Path, said: str, status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home"
    home.mkdir()
    capture = hashlib.sha256(b"sound").hexdigest()
    heard = transcript(f"Left front outer pad, {said} millimeters.").model_copy(update={"capture": capture})
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    store.put_artefact(capture, "transcript", "1", heard.model_dump_json())
    store.close()
    assert main([str(cases), str(home), "--list", "--least", "0.98"]) == status
    told = capsys.readouterr().out
    assert ("thickness 9 mm" in told) == (status == 1)


def test_a_folder_of_drafts_is_taken_as_it_is(cases: Path, tmp_path: Path) -> None:
    draft = {"findings": [found(drafted(value=9.0), 0.95)]}
    (tmp_path / "one.json").write_text(json.dumps(draft))
    assert main([str(cases), str(tmp_path), "--least", "0.98"]) == 1
    assert main([str(cases), str(tmp_path)]) == 0


def test_no_case_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path), str(tmp_path)]) == 2
    assert "holds no case" in capsys.readouterr().err
