"""`droplight doctor` on a computer where something is wrong."""

from pathlib import Path

import pytest

from pipelines.commands.main import main

# One line each; everything else must still be looked at.
CHECKS = (
    "Python",
    "data folder",
    "disk",
    "database",
    "speech weights",
    "display reader",
    "vocabulary",
    "limits",
    "plans",
    "rules",
)


def doctor(capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, str]]:
    """The exit code, and the line of each check."""
    code = main(["doctor"])
    said = capsys.readouterr()
    assert "Traceback" not in said.out + said.err
    return code, {name: line for name in CHECKS for line in said.out.splitlines() if f" {name} " in line}


@pytest.fixture(autouse=True)
def small_weights(home: Path, tmp_path: Path) -> Path:
    """A model folder of a few bytes: the real weights are not read through here."""
    model = tmp_path / "model"
    model.mkdir()
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (model / name).write_text("small")
    home.mkdir()
    (home / "settings.yaml").write_text(f"speech: {{model: {model}}}\n")
    return model


def test_what_is_good_is_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    _, lines = doctor(capsys)
    good = {name for name, line in lines.items() if line.startswith("good")}
    assert good >= {
        "Python",
        "data folder",
        "database",
        "speech weights",
        "vocabulary",
        "limits",
        "plans",
        "rules",
    }


def test_a_model_that_lacks_a_file_is_said_with_what_to_do(
    small_weights: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (small_weights / "tokenizer.json").unlink()
    code, lines = doctor(capsys)
    assert code == 1
    assert lines["speech weights"].startswith("WRONG")
    assert "tokenizer.json" in lines["speech weights"] and "speech.model" in lines["speech weights"]
    assert lines["limits"].startswith("good")


def test_a_limits_file_of_the_shop_that_is_wrong_is_named(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "limits").mkdir()
    (home / "limits" / "ours.yaml").write_text("limits: [{id: 7\n")
    code, lines = doctor(capsys)
    assert code == 1
    assert lines["limits"].startswith("WRONG") and "ours.yaml" in lines["limits"]
    assert lines["vocabulary"].startswith("good")


def test_a_plan_that_is_not_there_and_a_wrong_rule_are_said(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with (home / "settings.yaml").open("a", encoding="utf-8") as file:
        file.write("truck: {plan: nowhere}\n")
    (home / "rules.yaml").write_text("off: [nothing]\n")
    code, lines = doctor(capsys)
    assert code == 1
    assert lines["plans"].startswith("WRONG") and "light_truck" in lines["plans"]
    assert lines["rules"].startswith("WRONG") and "rules.yaml, line 1" in lines["rules"]


def test_a_database_that_is_none_is_said(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (home / "droplight.db").write_bytes(b"this is no database at all" * 100)
    code, lines = doctor(capsys)
    assert code == 1
    assert lines["database"].startswith("WRONG")
    assert "droplight.db" in lines["database"]


def test_a_full_disk_is_said(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    import shutil
    from types import SimpleNamespace

    monkeypatch.setattr(
        shutil, "disk_usage", lambda _: SimpleNamespace(total=10**12, used=10**12, free=10**8)
    )
    code, lines = doctor(capsys)
    assert code == 1
    assert lines["disk"].startswith("WRONG") and "0.1 GB" in lines["disk"] and "make room" in lines["disk"]
