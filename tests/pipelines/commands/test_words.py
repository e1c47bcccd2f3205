"""The words of the commands: help with an example, clear refusals, and a quick start."""

import subprocess
import sys
from pathlib import Path

import pytest

from pipelines.commands.main import COMMANDS, main

ROOT = Path(__file__).parents[3]


def leaves(argv: list[str]) -> int:
    with pytest.raises(SystemExit) as left:
        main(argv)
    assert isinstance(left.value.code, int)
    return left.value.code


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert leaves(["--help"]) == 0
    shown = capsys.readouterr().out
    assert all(f"    {name} " in shown for name in COMMANDS)
    assert "Example: droplight " in shown


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_every_command_shows_an_example_that_is_understood(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert leaves([command, "--help"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert f"Example: droplight {command}" in shown
    assert "--help" in shown


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        ([], "COMMAND"),
        (["inspect"], "inspect"),
        (["draft"], "inbox"),
        (["draft", "here", "--otu", "x"], "--otu"),
        (["deliver"], "--out"),
        (["review", "--port", "many"], "many"),
    ],
)
def test_wrong_words_are_said_in_a_line(
    argv: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert leaves(argv) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert words in said.err
    assert "--help" in said.err
    assert len(said.err.strip().splitlines()) == 1


HEAVY = (
    "faster_whisper",
    "ctranslate2",
    "cv2",
    "onnxruntime",
    "spacy",
    "fastapi",
    "av",
    "sqlalchemy",
    "watchdog",
)


def test_help_loads_nothing_heavy() -> None:
    script = (
        "import sys\n"
        "from pipelines.commands.main import main\n"
        "try:\n"
        "    main(['--help'])\n"
        "except SystemExit:\n"
        "    pass\n"
        f"print('LOADED', [name for name in {HEAVY} if name in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.splitlines()[-1] == "LOADED []"


@pytest.mark.parametrize("command", ["draft", "watch", "deliver", "doctor", "review", "demo"])
def test_a_wrong_settings_file_stops_every_command_with_a_sentence(
    command: str, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home.mkdir()
    (home / "settings.yaml").write_text("wacth: {settle_s: 5}\n")
    more = {
        "draft": [str(tmp_path)],
        "watch": [str(tmp_path / "in")],
        "deliver": ["--out", str(tmp_path / "o")],
    }
    assert main([command, *more.get(command, [])]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("droplight: ")
    assert "settings.yaml" in said.err and "wacth" in said.err
    assert "Traceback" not in said.err
    assert not (tmp_path / "in").exists()


def test_the_data_folder_can_be_named_on_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--home", str(tmp_path / "mine"), "deliver", "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "mine" / "droplight.db").exists()
    capsys.readouterr()


def test_a_data_folder_that_is_a_file_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file")
    assert main(["--home", str(taken), "deliver", "--out", str(tmp_path / "out")]) == 1
    said = capsys.readouterr().err
    assert said.startswith("droplight: ") and str(taken) in said
    assert len(said.strip().splitlines()) == 1


def test_a_port_that_does_not_exist_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", "--port", "70000"]) == 1
    assert "70000" in capsys.readouterr().err


@pytest.mark.parametrize("level", ["info", "debug"])
def test_a_fault_of_the_program_is_told_in_a_sentence(
    level: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*args: object) -> int:
        raise KeyError("furlong")

    (tmp_path / "settings.yaml").write_text(f"logs: {{level: {level}}}\n")
    monkeypatch.setattr("pipelines.commands.doctor.run", fail)
    assert main(["--home", str(tmp_path), "doctor"]) == 1
    told = capsys.readouterr().err
    assert "droplight doctor stopped" in told and "furlong" in told and "kept" in told
    assert ("Traceback" in told) == (level == "debug")
