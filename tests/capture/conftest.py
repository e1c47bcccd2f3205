"""An empty inbox with its store."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from models.store import Store


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    folder = tmp_path / "inbox"
    folder.mkdir()
    return folder


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    folder.mkdir()
    return folder


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    opened = Store.open(f"sqlite:///{home / 'droplight.db'}")
    yield opened
    opened.close()
