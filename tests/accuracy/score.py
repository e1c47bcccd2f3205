"""Score drafted records against what was really said and shown.

    python -m tests.accuracy.score CASES DRAFTS [--floors FILE] [--list]

CASES/NAME/expected.json is compared with DRAFTS/NAME.json for each NAME. A drafted reading is right when
component, measure, place and value agree with an expected one that no other drafted reading took; the value
may be off by 0.6 % after conversion to the same unit (temperatures: 0.3 kelvin). ``play`` stands for any of
the play measures. A reading that matches nothing and asks for nobody's attention is a silent error.
Conditions other than ``ok`` and actions are counted once for each component, side and axle.

With --floors the exit status is 1 when a figure lies below its floor (or above, for silent errors).
"""

import argparse
import json
import sys
from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import yaml

from models.units import UNITS, UnitError, to_base, unit

Entry = dict[str, Any]
Mark = tuple[str, str | None, str | None, str]

RELATIVE_TOLERANCE = Fraction(6, 1000)
TEMPERATURE_TOLERANCE = Fraction(3, 10)
PLAYS = frozenset(("play", "axial_play", "radial_play", "end_play"))


@dataclass
class Tally:
    """Counts of one case or of several together.

    ``missed`` holds expected findings that were not drafted, ``extra`` drafted ones that were not expected.
    """

    wanted: int = 0
    drafted: int = 0
    right: int = 0
    flagged: int = 0
    silent_errors: int = 0
    marks_wanted: int = 0
    marks_drafted: int = 0
    marks_right: int = 0
    missed: list[str] = field(default_factory=list)
    extra: list[str] = field(default_factory=list)

    def __add__(self, other: "Tally") -> "Tally":
        return Tally(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))

    def figures(self) -> dict[str, float]:
        """Recall, precision and F1 of readings, F1 of conditions, share of readings that ask for a look."""
        recall, precision = _share(self.right, self.wanted), _share(self.right, self.drafted)
        marks = _share(self.marks_right, self.marks_wanted), _share(self.marks_right, self.marks_drafted)
        return {
            "recall": recall,
            "precision": precision,
            "f1": _harmonic(recall, precision),
            "conditions_f1": _harmonic(*marks),
            "flagged_share": _share(self.flagged, self.drafted),
            "silent_errors": float(self.silent_errors),
        }


def _share(part: int, whole: int) -> float:
    return part / whole if whole else 0.0


def _harmonic(a: float, b: float) -> float:
    return 2 * a * b / (a + b) if a + b else 0.0


def _tread_thirty_seconds(value: Fraction, code: str) -> tuple[Fraction, str]:
    """A value in 32nds of an inch as inches; others unchanged."""
    return (value / 32, "[in_i]") if code == "/32[in_i]" else (value, code)


def same_value(want: Entry, got: Entry) -> bool:
    """Whether two readings of the same measure hold the same value."""
    values = [Fraction(Decimal(str(entry["value"]))) for entry in (want, got)]
    (a, a_unit), (b, b_unit) = (
        _tread_thirty_seconds(value, entry["unit"]) for value, entry in zip(values, (want, got), strict=True)
    )
    try:
        if unit(a_unit).dimension != unit(b_unit).dimension:
            return False
    except UnitError:
        return False
    difference = want["measure"] == "temperature_split"
    first, second = to_base(a, a_unit, difference=difference), to_base(b, b_unit, difference=difference)
    if UNITS[a_unit].dimension == "temperature" and not difference:
        return abs(first - second) <= TEMPERATURE_TOLERANCE
    return abs(first - second) <= abs(first) * RELATIVE_TOLERANCE


def same_measure(a: str, b: str) -> bool:
    """Whether two measures are the same; a play of unknown direction is any play."""
    return a == b or ("play" in (a, b) and {a, b} <= PLAYS)


def same_place(want: Entry, got: Entry) -> bool:
    """Whether two places name the same axes with the same values."""
    known = [
        {axis: str(value) for axis, value in (entry.get("position") or {}).items() if value is not None}
        for entry in (want, got)
    ]
    return known[0] == known[1]


def same_reading(want: Entry, got: Entry) -> bool:
    """Whether a drafted reading is the expected one."""
    return (
        want["component"] == got["component"]
        and same_measure(want["measure"], got["measure"])
        and same_place(want, got)
        and same_value(want, got)
    )


def marks(findings: Iterable[Entry]) -> set[Mark]:
    """Conditions other than ``ok`` and actions, each with component, side and axle."""
    found: set[Mark] = set()
    for finding in findings:
        position = finding.get("position") or {}
        where = (finding["component"], position.get("side"), position.get("axle"))
        found |= {(*where, word) for word in finding.get("conditions") or [] if word != "ok"}
        if finding.get("action"):
            found.add((*where, f"action:{finding['action']}"))
    return found


def words(entry: Entry) -> str:
    """A reading in one line."""
    place = " ".join(str(value) for value in (entry.get("position") or {}).values() if value is not None)
    return f"{entry['component']} {place} {entry['measure']} {entry['value']} {entry['unit']}".replace(
        "  ", " "
    )


def unmatched(wanted: list[Entry], drafted: list[Entry]) -> tuple[list[Entry], list[Entry]]:
    """The expected readings that were not drafted, and the drafted ones that were not expected."""
    left, missed = list(drafted), []
    for want in wanted:
        match = next((k for k, got in enumerate(left) if same_reading(want, got)), None)
        if match is None:
            missed.append(want)
        else:
            del left[match]
    return missed, left


def score(expected: Entry, draft: Entry) -> Tally:
    """Compare one drafted record with what is expected of it."""
    wanted = [entry for entry in expected["findings"] if entry.get("measure")]
    drafted = [{**entry, **entry["reading"]} for entry in draft["findings"] if entry.get("reading")]
    missed, left = unmatched(wanted, drafted)
    marks_wanted, marks_drafted = marks(expected["findings"]), marks(draft["findings"])
    return Tally(
        wanted=len(wanted),
        drafted=len(drafted),
        right=len(wanted) - len(missed),
        flagged=sum(bool(got.get("attention")) for got in drafted),
        silent_errors=sum(not got.get("attention") for got in left),
        marks_wanted=len(marks_wanted),
        marks_drafted=len(marks_drafted),
        marks_right=len(marks_wanted & marks_drafted),
        missed=[words(e) for e in missed]
        + [_mark_words(m) for m in sorted_marks(marks_wanted - marks_drafted)],
        extra=[words(e) for e in left] + [_mark_words(m) for m in sorted_marks(marks_drafted - marks_wanted)],
    )


def sorted_marks(found: set[Mark]) -> list[Mark]:
    """The marks in a steady order."""
    return sorted(found, key=lambda mark: tuple(str(part) for part in mark))


def _mark_words(mark: Mark) -> str:
    return " ".join(part for part in mark if part)


def score_folder(cases: Path, drafts: Path) -> dict[str, Tally]:
    """The tally of each case; a case without a draft counts as an empty draft.

    Raises:
        FileNotFoundError: the folder holds no case.
    """
    tallies = {}
    for path in sorted(cases.glob("*/expected.json")):
        name = path.parent.name
        draft = drafts / f"{name}.json"
        record = json.loads(draft.read_text(encoding="utf-8")) if draft.exists() else {"findings": []}
        tallies[name] = score(json.loads(path.read_text(encoding="utf-8")), record)
    if not tallies:
        raise FileNotFoundError(f"{cases} holds no case: expected NAME/expected.json in it")
    return tallies


def below_floors(total: Tally, floors: dict[str, float]) -> list[str]:
    """A sentence for each figure that misses its floor.

    For ``silent_errors`` and ``flagged_share`` the number given is a ceiling.

    Raises:
        ValueError: a floor is named that is no figure.
    """
    figures = total.figures()
    unknown = sorted(set(floors) - set(figures))
    if unknown:
        raise ValueError(f"no such figure: {', '.join(unknown)}; known: {', '.join(figures)}")
    failed = []
    for key, floor in floors.items():
        value = figures[key]
        ceiling = key in ("silent_errors", "flagged_share")
        if value > floor if ceiling else value < floor:
            failed.append(f"{key} is {value:.3f}, {'above' if ceiling else 'below'} {floor}")
    return failed


def _line(name: str, tally: Tally) -> str:
    f = tally.figures()
    return (
        f"{name:24s} readings {tally.right:3d} of {tally.wanted:3d}, drafted {tally.drafted:3d}; "
        f"recall {f['recall']:.3f} precision {f['precision']:.3f} F1 {f['f1']:.3f}; "
        f"conditions F1 {f['conditions_f1']:.3f}; flagged {f['flagged_share']:.3f}; "
        f"silent errors {tally.silent_errors}"
    )


def report(tallies: dict[str, Tally], *, everything: bool) -> Tally:
    """Print a line a case and one of all together, which is returned; `everything` lists the errors too."""
    for name, tally in tallies.items():
        print(_line(name, tally))
        if everything:
            print("".join(f"    missed  {text}\n" for text in tally.missed), end="")
            print("".join(f"    extra   {text}\n" for text in tally.extra), end="")
    total = sum(tallies.values(), Tally())
    print(_line("all", total))
    return total


def status(total: Tally, floors: Path | None) -> int:
    """The exit status: 1 when a figure misses its floor in a YAML file, each said in a sentence."""
    least = yaml.safe_load(floors.read_text(encoding="utf-8")) if floors else {}
    failed = below_floors(total, least)
    print("".join(f"{sentence}\n" for sentence in failed), end="")
    return 1 if failed else 0


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit status."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("cases", type=Path)
    parser.add_argument("drafts", type=Path)
    parser.add_argument("--floors", type=Path, help="YAML file of the least that is good enough")
    parser.add_argument("--list", action="store_true", help="show what was missed and what was extra")
    asked = parser.parse_args(arguments)
    try:
        tallies = score_folder(asked.cases, asked.drafts)
    except FileNotFoundError as error:
        print(error, file=sys.stderr)
        return 2
    total = report(tallies, everything=asked.list)
    return status(total, asked.floors)


if __name__ == "__main__":
    sys.exit(main())
