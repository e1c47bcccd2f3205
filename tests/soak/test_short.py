"""The soak in short: the real watch killed and mistreated; a month of twenty inspections replayed."""

from pathlib import Path

import pytest

from tests.soak.crash import soak
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
