"""`droplight draft`."""

import json
from pathlib import Path

import pytest

from models.record import Record
from pipelines.commands.main import main
from tests.doubles import Failing, Scripted, write_note, write_photo
from tests.pipelines.commands.conftest import Equip

PAD = "Unit four one seven. Left front outer pad, point two five oh inches."


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    folder = tmp_path / "inbox"
    write_note(folder / "20261120T081500.wav")
    write_photo(folder / "20261120T081600.png")
    return folder


def test_the_record_is_written_as_published(
    inbox: Path, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted([PAD]))
    out = tmp_path / "deep" / "draft.json"
    assert main(["draft", str(inbox), "--out", str(out)]) == 0
    data = json.loads(out.read_text(encoding="utf-8"))
    (finding,) = data["findings"]
    assert data["schema"] == "droplight/record/1"
    assert data["inspection"]["unit"] == "417"
    assert finding["position"] == {"side": "left", "axle": "front", "face": "outer"}
    assert (finding["reading"]["value"], finding["reading"]["exact"]) == (0.25, "0.250")
    assert f"{Record.from_json(data).findings[0].reading.value:f}" == "0.250"  # type: ignore[union-attr]
    assert "1 findings" in capsys.readouterr().out
    assert [path.name for path in out.parent.iterdir()] == ["draft.json"]


def test_without_a_file_a_table_is_printed(
    inbox: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted([PAD]))
    assert main(["draft", str(inbox)]) == 0
    shown = capsys.readouterr().out
    assert "brake pad" in shown and "left front outer" in shown and "0.250 in" in shown
    assert "417" in shown


def test_a_second_time_hears_nothing(inbox: Path, tmp_path: Path, equip: Equip) -> None:
    out = tmp_path / "draft.json"
    equip(Scripted(["Left front outer pad, six millimeters."]))
    assert main(["draft", str(inbox), "--out", str(out)]) == 0
    first = out.read_bytes()
    listener = Scripted(["Something else."])
    equip(listener)
    assert main(["draft", str(inbox), "--out", str(out)]) == 0
    assert (out.read_bytes(), listener.windows) == (first, [])


def test_a_failing_recogniser_still_gives_a_record(
    inbox: Path, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Failing())
    assert main(["draft", str(inbox), "--out", str(tmp_path / "draft.json")]) == 0
    said = capsys.readouterr()
    assert "0 findings" in said.out
    assert "memory" in said.out and "20261120T081500.wav" in said.out
    assert "Traceback" not in said.out + said.err


@pytest.mark.parametrize(
    ("made", "words"),
    [("nothing", "is no folder"), ("file", "is no folder"), ("empty", "Nothing could be read")],
)
def test_what_is_no_inbox_is_said(
    made: str, words: str, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted())
    path = tmp_path / "given"
    if made == "file":
        path.write_text("a file")
    elif made == "empty":
        path.mkdir()
    assert main(["draft", str(path), "--out", str(tmp_path / "draft.json")]) == 1
    said = capsys.readouterr().err
    assert f"droplight: {path} {words}" in said or (words in said and str(path) in said)
    assert "Traceback" not in said
    assert not (tmp_path / "draft.json").exists()


def test_a_place_that_cannot_be_written_is_said(
    inbox: Path, tmp_path: Path, equip: Equip, capsys: pytest.CaptureFixture[str]
) -> None:
    equip(Scripted([PAD]))
    (tmp_path / "taken").write_text("a file")
    assert main(["draft", str(inbox), "--out", str(tmp_path / "taken" / "draft.json")]) == 1
    said = capsys.readouterr().err.strip().splitlines()[-1]
    assert said.startswith("droplight: ") and "taken" in said


def test_missing_weights_are_said(
    inbox: Path, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home.mkdir()
    (home / "settings.yaml").write_text(f"speech: {{model: {tmp_path / 'no-model'}}}\n")
    assert main(["draft", str(inbox)]) == 1
    said = capsys.readouterr().err
    assert "no-model" in said and "model.bin" in said and "speech.model" in said
    assert "Traceback" not in said
