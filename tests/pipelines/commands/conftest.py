"""A data folder of its own, and doubles instead of the recognisers."""

from collections.abc import Callable
from pathlib import Path

import pytest

from models.settings import Settings
from pipelines.workshop import Workshop
from tests.doubles import Display, Scripted, workshop

Equip = Callable[[Scripted], None]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "home"
    monkeypatch.setenv("DROPLIGHT_HOME", str(folder))
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setenv("COLUMNS", "200")
    return folder


@pytest.fixture
def equip(monkeypatch: pytest.MonkeyPatch) -> Equip:
    """Gives the commands this listener, and a display reader that reads nothing."""

    def put(listener: Scripted) -> None:
        def opened(settings: Settings) -> Workshop:
            return workshop(settings.home, listener, Display())

        monkeypatch.setattr("pipelines.workshop.open_workshop", opened)

    return put
