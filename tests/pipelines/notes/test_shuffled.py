"""Lines of the scripts in any order, cut anywhere and heard with words missing: nothing stops the reading."""

import random

import pytest

from samples.script import SAID, read_script
from tests.pipelines.notes.saying import notes

LINES = [
    line.say
    for path in sorted(SAID.glob("*.yaml"))
    for note in read_script(path).notes
    for line in note.lines
]


def windows(dice: random.Random) -> list[list[tuple[str, float]]]:
    """A few lines, some cut in two, each heard as it is and with one word in ten missing."""
    pieces: list[str] = []
    for text in dice.choices(LINES, k=dice.randint(3, 10)):
        words = text.split()
        at = dice.randrange(1, len(words)) if len(words) > 3 and dice.random() < 0.5 else len(words)
        pieces += [" ".join(part) for part in (words[:at], words[at:]) if part]
    return [[(p, 0.6), (" ".join(x for x in p.split() if dice.random() > 0.1) or p, 0.4)] for p in pieces]


@pytest.mark.parametrize("seed", range(8))
def test_lines_in_any_order_are_read(seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(40):
        heard = windows(dice)
        for finding in notes(*heard).findings:
            assert 0 < finding.confidence <= 1
            assert any(finding.text in text for window in heard for text, _ in window)
