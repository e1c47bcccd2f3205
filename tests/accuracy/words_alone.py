"""How well the grammar reads what the scripts say, when every word is heard right.

    python -m tests.accuracy.words_alone [SCRIPT ...] [--list] [--floors FILE]

Each line of a script is one window of one certain hypothesis: what is lost here is lost by the grammar and
the vocabulary, not by the ear. Without scripts the open cases of the samples are read, and the scripts of
samples/said, which were written for this without a voice. With --floors the exit status is 1 when a figure
lies below its floor.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from models.notes import SpokenFinding
from samples.script import SAID, Script, all_cases, read_script
from tests.accuracy.score import Tally, report, score, status
from tests.pipelines.notes.saying import notes


def entry_of(finding: SpokenFinding) -> dict[str, Any]:
    """A finding in the form of a draft."""
    reading = finding.reading
    return {
        "component": finding.component,
        "position": finding.position.keys(),
        "reading": reading and {"measure": reading.measure, "value": reading.value, "unit": reading.unit},
        "conditions": finding.conditions,
        "action": finding.action,
        "attention": finding.attention,
        "confidence": finding.confidence,
    }


def tally(script: Script) -> Tally:
    """What the grammar makes of a script, against what the script expects."""
    read = [notes(*(line.say for line in note.lines)) for note in script.notes]
    drafted = [entry_of(finding) for said in read for finding in said.findings]
    return score(script.to_expected(), {"findings": drafted})


def main(arguments: Sequence[str] | None = None) -> int:
    """Print a line a script."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("scripts", type=Path, nargs="*")
    parser.add_argument("--list", action="store_true", help="show what was missed and what was extra")
    parser.add_argument("--floors", type=Path, help="YAML file of the least that is good enough")
    asked = parser.parse_args(arguments)
    paths = asked.scripts or sorted(SAID.glob("*.yaml"))
    scripts = [read_script(path) for path in paths]
    if not asked.scripts:
        scripts += [script for script in all_cases() if not script.held_back]
    total = report({script.name: tally(script) for script in scripts}, everything=asked.list)
    return status(total, asked.floors)


if __name__ == "__main__":
    sys.exit(main())
