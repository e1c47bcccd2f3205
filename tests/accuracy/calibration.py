"""Whether what is drafted is right as often as its confidence says.

    python -m tests.accuracy.calibration CASES MADE [CASES MADE ...] [--list] [--least 0.98]

CASES holds NAME/expected.json and NAME/inbox. MADE is a home folder: the transcripts kept there, by whatever
ear, are read through the present grammar; or a folder of drafts, NAME.json: they are taken as they are. Each
pair gets a table, and all together.

A reading is right when part, place, measure, value and unit are (see tests.accuracy.score); a finding without
a reading when all its conditions and its action stand in the expected record of that part, side and axle.
Date codes are left out: nobody expects them there. With --least the exit status is 1 when less than that
share of the findings with confidence 0.9 or more is right.
"""

import argparse
import hashlib
import json
import sqlite3
import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from models.transcript import Transcript
from models.vocabulary import load_vocabulary
from pipelines.notes.read import read_notes
from tests.accuracy.score import Entry, unmatched, words
from tests.accuracy.words_alone import entry_of

BANDS = (0.9, 0.8, 0.7, 0.5, 0.0)
_DATABASE = "droplight.db"


@dataclass(frozen=True)
class Claimed:
    """One drafted finding and whether it is right."""

    confidence: float
    asks: bool
    right: bool
    words: str


@dataclass
class Band:
    """Counts of the findings of one band of confidence.

    Attributes:
        made: how many there are.
        right: of those, how many are right.
        wrong: the others, in words.
    """

    made: int = 0
    right: int = 0
    wrong: list[str] = field(default_factory=list)

    def add(self, claimed: Claimed) -> None:
        """Count one more."""
        self.made += 1
        self.right += claimed.right
        if not claimed.right:
            self.wrong.append(f"{claimed.confidence:.3f}  {claimed.words}")


def _place(entry: Entry) -> tuple[str | None, str | None, str | None]:
    position = entry.get("position") or {}
    return entry["component"], position.get("side"), position.get("axle")


def _marks(entry: Entry) -> set[str]:
    action = entry.get("action")
    return {*(entry.get("conditions") or []), *([f"action:{action}"] if action else [])}


def judged(expected: Entry, draft: Entry) -> Iterator[Claimed]:
    """Each finding of a draft that has a reading or a mark, with whether it was expected."""
    drafted = [{**entry, **entry["reading"]} for entry in draft["findings"] if entry.get("reading")]
    _, wrong = unmatched([entry for entry in expected["findings"] if entry.get("measure")], drafted)
    for entry in drafted:
        right = not any(entry is other for other in wrong)
        yield Claimed(entry["confidence"], bool(entry["attention"]), right, words(entry))
    wanted: dict[tuple[str | None, ...], set[str]] = defaultdict(set)
    for entry in expected["findings"]:
        wanted[_place(entry)] |= _marks(entry)
    for entry in draft["findings"]:
        marks = _marks(entry)
        if marks and not entry.get("reading"):
            said = " ".join(part for part in (*_place(entry), *sorted(marks)) if part)
            right = marks <= wanted[_place(entry)]
            yield Claimed(entry["confidence"], bool(entry["attention"]), right, said)


def kept_transcripts(home: Path) -> dict[str, Transcript]:
    """What was heard in each recording of a home folder, by the sha256 of the recording."""
    rows = "select payload from artefacts where stage = 'transcript' order by cast(version as integer)"
    with closing(sqlite3.connect(f"file:{home / _DATABASE}?mode=ro", uri=True)) as database:
        heard = [Transcript.model_validate_json(payload) for (payload,) in database.execute(rows)]
    return {transcript.capture: transcript for transcript in heard}


def _reread(inbox: Path, heard: dict[str, Transcript]) -> dict[str, Any]:
    """What the present grammar makes of the kept transcripts of a case, in the form of a draft."""
    digests = [hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(inbox.iterdir())]
    said = [read_notes(heard[digest], load_vocabulary()) for digest in digests if digest in heard]
    return {"findings": [entry_of(finding) for notes in said for finding in notes.findings]}


def measured(cases: Path, made: Path) -> list[Claimed]:
    """All findings made of the cases.

    Raises:
        FileNotFoundError: the folder holds no case, or nothing was made of one.
    """
    expected = sorted(cases.glob("*/expected.json"))
    if not expected:
        raise FileNotFoundError(f"{cases} holds no case: expected NAME/expected.json in it")
    heard = kept_transcripts(made) if (made / _DATABASE).exists() else None
    claimed: list[Claimed] = []
    for path in expected:
        if heard is not None:
            draft = _reread(path.parent / "inbox", heard)
        else:
            draft = json.loads((made / f"{path.parent.name}.json").read_text(encoding="utf-8"))
        claimed += judged(json.loads(path.read_text(encoding="utf-8")), draft)
    return claimed


def bands(claimed: Sequence[Claimed], *, asks: bool | None = None) -> dict[float, Band]:
    """The findings by the lower end of their band; only those with or without attention unless None."""
    table = {least: Band() for least in BANDS}
    for one in claimed:
        if asks is None or one.asks == asks:
            table[next(least for least in BANDS if one.confidence >= least)].add(one)
    return table


def _print(title: str, claimed: Sequence[Claimed], *, everything: bool) -> None:
    print(f"{title}: {len(claimed)} findings")
    print("  confidence      all: right of made       without attention       with attention")
    columns = [bands(claimed), bands(claimed, asks=False), bands(claimed, asks=True)]
    for least in BANDS:
        shares = [_share(column[least]) for column in columns]
        print(f"  from {least:.1f}   " + "   ".join(f"{share:>20s}" for share in shares))
    if everything:
        for least in BANDS:
            print("".join(f"    wrong   {text}\n" for text in columns[0][least].wrong), end="")


def _share(band: Band) -> str:
    share = f"{100 * band.right / band.made:5.1f} %" if band.made else "      -"
    return f"{band.right:4d} of {band.made:4d} {share}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Print a table for each pair of folders, and one of all."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folders", type=Path, nargs="+", metavar="CASES MADE")
    parser.add_argument("--list", action="store_true", help="show what is wrong, with its confidence")
    parser.add_argument("--least", type=float, help="share of the sure findings that has to be right")
    asked = parser.parse_args(arguments)
    if len(asked.folders) % 2:
        parser.error("each folder of cases needs a folder of what was made of them")
    together: list[Claimed] = []
    try:
        for cases, made in zip(asked.folders[::2], asked.folders[1::2], strict=True):
            claimed = measured(cases, made)
            _print(f"{cases} {made}", claimed, everything=asked.list)
            together += claimed
    except FileNotFoundError as error:
        print(error, file=sys.stderr)
        return 2
    _print("together", together, everything=False)
    sure = bands(together)[BANDS[0]]
    return int(asked.least is not None and sure.right < asked.least * sure.made)


if __name__ == "__main__":
    sys.exit(main())
