"""How old a tire is: its date code, said or printed, against the day of the inspection."""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from math import floor
from typing import NamedTuple

from models.capture import Capture
from models.places import Position
from models.record import Evidence, Finding, Reading
from models.tire_date import TireDateError, made_in, tire_number
from pipelines.pairing.naming import Names

TIRE, AGE, YEARS = "tire", "age", "a"
# "DOT", letters and digits of plant, size and type, then week and year. The marks between are often misread.
_PRINTED = re.compile(r"\bD[O0]T\b[\sA-Z0-9·.-]{0,24}?\b(?P<code>\d{4})\b", re.I)
_WINDOW = timedelta(seconds=90)


class Code(NamedTuple):
    """A date code that a photo shows.

    Attributes:
        capture: the photo.
        digits: four of them.
        line: the printed line.
        plant: code of the plant, where the number tells it; else empty.
        doubts: what the whole number says against the age, as sentences.
    """

    capture: Capture
    digits: str
    line: str
    plant: str = ""
    doubts: tuple[str, ...] = ()


def age(code: str, on: date) -> tuple[Reading | None, str]:
    """The age of a tire as a reading, and a doubt for a person where there is none.

    Args:
        code: the digits of the date code; empty when they were not understood.
        on: the day of the inspection.
    """
    if not code:
        return None, "A date code was said here that could not be read: listen to it."
    try:
        years = made_in(code).age_years(on)
    except TireDateError as error:
        return None, str(error)
    # Cut, not rounded: no tire is called older than it is.
    value = Decimal(floor(years * 100)).scaleb(-2)
    return Reading(measure=AGE, value=value, unit=YEARS, as_given=f"date code {code}"), ""


def codes_in_time(captures: Mapping[str, Capture], prints: Mapping[str, Sequence[str]]) -> list[Code]:
    """The date codes that photos show, oldest photo first.

    Args:
        captures: every file of the inspection, by sha256.
        prints: printed lines of photos, by sha256. Only a line that says "DOT" counts: four digits alone
            may be anything.
    """
    found = []
    for sha256, lines in prints.items():
        line = " ".join(lines)
        if match := _PRINTED.search(line):
            found.append(_code(captures[sha256], match["code"], match.group()))
    return sorted(found, key=lambda code: (code.capture.captured_at, code.capture.sha256))


def _code(capture: Capture, digits: str, line: str) -> Code:
    try:
        number = tire_number(line)
    except TireDateError as error:
        # What is wrong with the digits alone is said with the age.
        return Code(capture, digits, line, doubts=() if _wrong(digits) else (str(error),))
    retread = (
        f"{line} has {len(number.symbols)} symbols, as the number of a retread: the date is that of the"
        " retreading, and the casing is older."
    )
    return Code(capture, digits, line, number.plant or "", (retread,) if number.retread else ())


def _wrong(digits: str) -> bool:
    try:
        made_in(digits)
    except TireDateError:
        return True
    return False


Timed = list[tuple[datetime, Finding]]


def with_codes(timed: Timed, codes: Sequence[Code], names: Names) -> Timed:
    """The findings, with the date codes of photos beside those that were said.

    A code that was said near in time and is the same gets the photo as evidence. Else it is a finding that
    asks which tire it is, and where another code was said near in time both are asked about.

    Args:
        timed: findings with the moments at which they were said.
        codes: from :func:`codes_in_time`.
        names: gives ids.
    """
    found = list(timed)
    for code in codes:
        near = [k for k, (at, f) in enumerate(found) if _is_said(f) and _near(at, code)]
        same = next((k for k in near if _said(found[k][1]).endswith(code.digits)), None)
        seen = Evidence(kind="photo", capture=code.capture.sha256, text=code.line)
        if same is not None:
            at, finding = found[same]
            update = {
                "evidence": (*finding.evidence, seen),
                "attention": (*finding.attention, *code.doubts),
            }
            found[same] = at, finding.model_copy(update=update)
            continue
        for k in near:
            at, finding = found[k]
            doubt = (
                f"{_said(finding)} was said, but the photo {code.capture.original_name} seems to show"
                f" {code.digits}: check which is right."
            )
            found[k] = at, finding.model_copy(update={"attention": (*finding.attention, doubt)})
        found.append((code.capture.captured_at, _alone(code, seen, names)))
    return found


def _near(at: datetime, code: Code) -> bool:
    return abs(at - code.capture.captured_at) <= _WINDOW


def _said(finding: Finding) -> str:
    return finding.reading.as_given if finding.reading is not None else ""


def _is_said(finding: Finding) -> bool:
    """Whether it is the age of a tire whose code was said."""
    audio = any(e.kind == "audio" for e in finding.evidence)
    return audio and finding.reading is not None and finding.reading.measure == AGE


def _alone(code: Code, seen: Evidence, names: Names) -> Finding:
    """A finding that asks which tire it is."""
    reading, doubt = age(code.digits, code.capture.captured_at.date())
    plant = f" (plant code {code.plant})" if code.plant else ""
    sentence = (
        f"Date code {code.digits} was read from print on {code.capture.original_name}{plant}, and nobody said"
        " it: look at the photo, and say which tire it is."
    )
    about = (TIRE, Position(), AGE)
    return Finding(
        id=names.give(code.capture.sha256, "photo", 0.0, about),
        component=TIRE,
        reading=reading,
        # The chance that component, position and value are all right: nobody said which tire.
        confidence=0.0,
        attention=(sentence, *code.doubts, *((doubt,) if doubt else ())),
        evidence=(seen,),
    )
