"""What is said about the inspection itself: unit, odometer, VIN, the end."""

import re
from decimal import Decimal

from pipelines.notes.claims import Heading
from pipelines.notes.items import Item
from pipelines.notes.plain import digit_run
from pipelines.notes.tokens import tokens

_UNIT = re.compile(r"\s*(?:number|is|no\.?|#|:)?\s*(?P<name>[A-Z]{0,3}-?\d[\dA-Z-]*)?", re.I)
_VIN = re.compile(
    r"\bV\.?\s?I\.?\s?N\b\.?(?:\s+(?:number|is))?[\s:,]*(?P<rest>[A-Z0-9][A-Z0-9 ,.-]{15,80})", re.I
)
_DISTANCES = ("[mi_i]", "km")


def _unit_name(text: str, item: Item) -> tuple[str, int] | None:
    """The name said behind "unit", in digits, and the offset behind it."""
    behind = text[item.end : item.end + 40]
    match = _UNIT.match(behind)
    if match and match.group("name"):
        return match.group("name").upper(), item.end + match.end()
    found = tokens(behind)
    skip = 1 if found and found[0].text in ("number", "is") else 0
    digits, end = digit_run(found, skip)
    return (digits, item.end + found[end - 1].end) if digits else None


def _vin(text: str) -> str | None:
    match = _VIN.search(text)
    letters = re.sub(r"[^A-Z0-9]", "", match.group("rest").upper()) if match else ""
    return letters[:17] if len(letters) >= 17 else None


def _odometer_span(row: list[Item], i: int) -> int | None:
    """Index of the number that is the odometer, when item `i` is one or names one."""
    item = row[i]
    if item.number is not None:
        readings = item.number.readings
        return i if readings and (readings[0].unit in _DISTANCES or _large_alone(row, i)) else None
    named = any(label.kind == "measure" and label.name == "odometer" for label in item.labels)
    if not named:
        return None
    closes = i + 1 >= len(row) or row[i + 1].is_break  # "73,560 on the clock."
    if closes and i and row[i - 1].number is not None and row[i - 1].number.readings:  # type: ignore[union-attr]
        return i - 1
    behind = [j for j in range(i + 1, min(i + 3, len(row))) if row[j].number is not None]
    return behind[0] if behind and row[behind[0]].number.readings else None  # type: ignore[union-attr]


def _pieces(text: str, row: list[Item], at: int) -> list[Decimal]:
    """The values of the numbers in a row from item `at`, with nothing but blanks and commas between."""
    pieces: list[Decimal] = []
    last = row[at].start
    for k in range(at, len(row)):
        number = row[k].number
        if pieces and row[k].is_break and not row[k].strong:
            continue
        if number is None or not number.readings:
            break
        if pieces and text[last : row[k].start].strip(" ,"):
            break
        last = row[k].end
        pieces.append(max(r.value for r in number.readings))
    return pieces


def _put_together(pieces: list[Decimal]) -> Decimal:
    """One odometer from its pieces: "81 thousand" "650", "80" "1,650", "112" "306"."""
    total = pieces[0]
    for piece in pieces[1:]:
        if total >= 1000 and total % 1000 == 0 and piece < 1000:
            total += piece
        elif total < 1000 and piece >= 1000:
            total = total * 1000 + piece
        else:
            total = Decimal(f"{total:.0f}{piece:.0f}")
    return total


def _segment_start(text: str, at: int) -> int:
    return max(text.rfind(mark, 0, at) for mark in ".?!,") + 1


def closes(text: str, row: list[Item], i: int) -> bool:
    """Whether a phrase ends the inspection: not "end of" without a unit, nor "that's all the play"."""
    words = text[row[i].start : row[i].end].lower()
    if re.match(r"\s+the\b", text[row[i].end :], re.I):
        return words != "that's all"
    following = row[i + 1] if i + 1 < len(row) else None
    return words != "end of" or (
        following is not None and (following.number is not None or following.cue("opening"))
    )


def _large_alone(row: list[Item], i: int) -> bool:
    """Whether a bare number of four digits or more follows the opening in its sentence: the odometer."""
    number = row[i].number
    if number is None or not number.readings or number.readings[0].unit is not None:
        return False
    if not 1000 <= max(r.value for r in number.readings) < 2_000_000:
        return False
    for item in reversed(row[:i]):
        if item.is_break and item.strong:
            return False
        if item.cue("opening"):
            return True
    return False


def read_heading(text: str, row: list[Item]) -> tuple[Heading, set[int]]:
    """Read unit, odometer, VIN and the end; say which items they used up.

    Args:
        text: the hypothesis.
        row: its items.

    Returns:
        The heading and the indexes of the items that are no findings.
    """
    unit, odometer, ended = None, None, False
    remarks: list[str] = []
    taken: set[int] = set()
    for i, item in enumerate(row):
        if i in taken:
            continue
        if item.cue("opening") and (name := _unit_name(text, item)):
            unit = unit or name[0]
            taken |= {j for j, other in enumerate(row) if item.start <= other.start < name[1]}
        elif item.cue("ending") and closes(text, row, i):
            ended = True
        elif item.cue("complaint"):
            start = _segment_start(text, item.start)
            alone = not text[start : item.start].strip() and text[item.end : item.end + 1] in (
                "",
                ".",
                "!",
                "?",
            )
            if alone and text[start - 1 : start] == ",":
                start = _segment_start(text, max(start - 1, 0))  # "pedal pulsation, complaint"
            ends = [k for k in (text.find(mark, item.end) for mark in ".?!,") if k >= 0]
            remarks.append(f"Complaint heard: “{text[start : min(ends, default=len(text))].strip()}”.")
            taken |= {j for j, other in enumerate(row) if start <= other.start < item.end}
        elif (at := _odometer_span(row, i)) is not None:
            span = row[at].number
            assert span is not None
            reading = max(span.readings, key=lambda r: r.value)
            unit_said = reading.unit if reading.unit in _DISTANCES else "[mi_i]"
            odometer = (reading.value, unit_said)
            if reading.doubt:
                remarks.append(f"Odometer: {reading.doubt}")
            taken |= {i, at}
            pieces = _pieces(text, row, at)
            if len(pieces) > 1:
                ends = [j for j in range(at, len(row)) if row[j].number is not None][: len(pieces)]
                odometer = (_put_together(pieces), unit_said)
                said = text[row[at].start : row[ends[-1]].end].strip()
                remarks.append(
                    f"The odometer was said in pieces (“{said}”): taken as {odometer[0]:f}, check it."
                )
                taken |= set(ends)
    heading = Heading(
        unit=unit,
        vin=_vin(text),
        odometer=odometer,
        ended=ended,
        photos=tuple(item.start for item in row if item.cue("photo")),
        remarks=tuple(remarks),
    )
    return heading, taken
