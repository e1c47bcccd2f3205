"""The same as the long run, with few records: processes are killed, and nothing is lost or comes twice."""

from pathlib import Path

from tests.accuracy.deliveries import run


def test_nothing_is_lost_when_both_sides_are_killed(tmp_path: Path) -> None:
    outcome = run(150, 1, tmp_path, kill_rounds=2)
    assert outcome.holds, outcome
    assert outcome.sent + outcome.dead == 150
    assert outcome.taken >= outcome.sent > 100
    assert outcome.requests > 150
