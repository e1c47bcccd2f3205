"""A power cut behind any call of taking a file in is repaired by starting again."""

from pathlib import Path
from typing import Any

import pytest

from capture import disk
from tests.soak.power import BAD, GOOD, Trial, every_cut, every_kill_and_cut

pytestmark = pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="needs /proc")


@pytest.mark.parametrize("content", [GOOD, BAD], ids=["good", "bad"])
def test_a_cut_after_any_call_is_repaired_by_starting_again(tmp_path: Path, content: bytes) -> None:
    calls, states = every_cut(tmp_path, content)
    assert calls >= 8
    assert states >= 6


def test_a_second_copy_may_be_cut_short_too(tmp_path: Path) -> None:
    every_cut(tmp_path, GOOD, taken_before=True)


@pytest.mark.parametrize("content", [GOOD, BAD], ids=["good", "bad"])
def test_a_kill_before_the_cut_makes_no_difference(tmp_path: Path, content: bytes) -> None:
    every_kill_and_cut(tmp_path, content, thorough=False, step=5)


def test_the_model_finds_a_missing_sync(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "sync_up", lambda folder, top: None)
    with pytest.raises(AssertionError, match="after a cut behind"):
        every_cut(tmp_path, GOOD)


def test_the_model_finds_the_inbox_emptied_before_the_commit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    trial = Trial(tmp_path, GOOD)
    path = trial.inbox / "417" / "a.wav"
    real = trial.store.add_capture

    def too_late(*arguments: Any) -> bool:
        disk.remove(path)
        return real(*arguments)

    monkeypatch.setattr(trial.store, "add_capture", too_late)
    with pytest.raises(AssertionError, match="after a cut behind"):
        trial.run()
    trial.store.close()
