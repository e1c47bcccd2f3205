"""No command loads models, or libraries for sound, pictures, language or the web, before it needs them.

Held by what is imported and not by the clock, which is another on every machine.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from pipelines.commands.main import COMMANDS

ROOT = Path(__file__).parents[3]
RECOGNISERS = {"faster_whisper", "ctranslate2", "onnxruntime", "cv2", "pytesseract", "tokenizers", "spacy"}
MEDIA = {"av", "PIL", "pillow_heif"}
WEB = {"fastapi", "starlette", "uvicorn", "httpx", "reportlab"}
TABLES = {"sqlalchemy", "alembic"}
SLOW = RECOGNISERS | MEDIA | WEB | TABLES | {"numpy", "watchdog", "fsspec", "psycopg", "procrastinate"}

# Each command in a fork of a process that has loaded nothing yet.
RUNS = """
import json, os, sys
for words in json.loads(sys.argv[1]):
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        out = os.dup(1)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        code = 0
        try:
            from pipelines.commands.main import main
            code = main(words)
        except SystemExit as end:
            code = end.code
        loaded = sorted({name.partition(".")[0] for name in sys.modules})
        os.write(out, (json.dumps([code or 0, loaded]) + "\\n").encode())
        os._exit(0)
    os.waitpid(child, 0)
"""


def loaded(home: Path, *commands: list[str]) -> list[tuple[int, set[str]]]:
    done = subprocess.run(
        [sys.executable, "-c", RUNS, json.dumps(commands)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "DROPLIGHT_HOME": str(home)},
        capture_output=True,
        text=True,
        check=True,
    )
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(told) == len(commands), done.stderr
    return [(code, set(names)) for code, names in told]


@pytest.fixture(scope="module")
def data_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with tables that are up to date."""
    from models.store import Store

    home = tmp_path_factory.mktemp("home")
    Store.open(f"sqlite:///{home / 'droplight.db'}").close()
    return home


def test_help_loads_nothing_slow(data_folder: Path) -> None:
    asked = [["--help"], *([name, "--help"] for name in COMMANDS)]
    for words, (code, names) in zip(asked, loaded(data_folder, *asked), strict=True):
        assert code == 0, words
        assert names & SLOW == set(), words


def test_a_mistake_is_told_before_anything_slow_is_loaded(data_folder: Path, tmp_path: Path) -> None:
    nothing = str(tmp_path / "nothing")
    asked = [["draft", nothing], ["watch", str(data_folder)], ["verify", nothing], ["draught"]]
    for words, (code, names) in zip(asked, loaded(data_folder, *asked), strict=True):
        assert code != 0, words
        assert names & (SLOW - {"numpy", "watchdog"}) == set(), words


@pytest.mark.parametrize(
    "words", [["people", "list"], ["deliver", "--out", "OUT"], ["evaluate"]], ids=lambda words: words[0]
)
def test_work_on_records_loads_no_recogniser(data_folder: Path, tmp_path: Path, words: list[str]) -> None:
    words = [str(tmp_path / "out") if word == "OUT" else word for word in words]
    ((code, names),) = loaded(data_folder, words)
    assert code == 0
    assert "sqlalchemy" in names  # it looked at the tables
    assert names & (RECOGNISERS | MEDIA | {"alembic", "reportlab", "fastapi", "uvicorn"}) == set()
