"""The soak in short: the watch killed, a month replayed, load held, waiting files worked off."""

from pathlib import Path

import pytest

from tests.soak.__main__ import hold
from tests.soak.crash import soak
from tests.soak.many import work_off
from tests.soak.month import replayed

pytestmark = pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs /proc")


@pytest.mark.timeout(300)
def test_the_watch_killed_and_mistreated_loses_nothing(tmp_path: Path) -> None:
    happened = soak(tmp_path / "yard", kills=6, seed=5, share=2, patience_s=120)
    assert happened["kills"] == 6
    assert happened["kept"] > 3


@pytest.mark.timeout(300)
def test_twenty_inspections_replayed_are_equal_byte_for_byte(tmp_path: Path) -> None:
    assert replayed(tmp_path, 20) == 20


@pytest.mark.timeout(300)
def test_load_is_held_while_recognisers_fall(tmp_path: Path) -> None:
    held = hold(minutes=0.5, rate=60, falls_s=2, folder=tmp_path)
    assert held.wrong == []
    assert held.dropped == 30
    assert held.falls > 0


@pytest.mark.timeout(300)
def test_files_that_wait_at_the_start_are_worked_off_by_name(tmp_path: Path) -> None:
    assert work_off(tmp_path, files=40, seconds=5) == []
