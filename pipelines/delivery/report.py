"""The report for the owner of a truck, before any layout: what is changed and why, and what was found."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from models.cautions import cautions
from models.estimate_words import EstimateShown, estimate_shown
from models.frozen import Frozen
from models.record import Evidence, Finding, LimitUsed, Reading, Record
from models.units import UNITS, plain

CHANGES = frozenset({"replace", "repair", "resurface", "adjust", "tighten", "clean"})
_HARMLESS = frozenset({"ok"})
_MOST_PHOTOS = 3
_MOST_SHORT = 12

Group = Literal["changed", "found", "not judged", "fine"]
Crop = Callable[[Evidence], bytes | None]
"""The part of a photo that shows the digits, as JPEG; None when the original is not there."""


class Photo(Frozen):
    """A photo beside a finding.

    Attributes:
        jpeg: the picture; None when the original is not there any more.
        caption: file name and the characters read.
    """

    jpeg: bytes | None
    caption: str


class Rule(Frozen):
    """A limit in words.

    Attributes:
        sentence: the rule with its number and unit.
        whose: who says so: kind, source, where it holds, when it was read.
        result: what it alone says of the reading.
    """

    sentence: str
    whose: str
    result: str


class Line(Frozen):
    """One finding of the report.

    Attributes:
        group: the section it stands in.
        part: place and part.
        reading: measure, number and unit; empty without a number.
        given: how the value was said or shown; empty without a number.
        seen: conditions in words.
        action: what is done, in words; empty when nothing.
        verdict: the word of the verdict; empty when there is none.
        kind: who says so: regulation, maker, shop rule or common practice; empty when no limit does.
        why: the sentence of the verdict.
        rules: the limits that the sentence does not tell whole.
        further: what rules suggest, and what has become of it since earlier inspections.
        doubts: why a person had to look before deciding.
        decided: who answers for the finding, and the reason of a correction.
        photos: at most three.
    """

    group: Group
    part: str
    reading: str = ""
    given: str = ""
    seen: str = ""
    action: str = ""
    verdict: str = ""
    kind: str = ""
    why: str = ""
    rules: tuple[Rule, ...] = ()
    further: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    decided: str = ""
    photos: tuple[Photo, ...] = ()

    @property
    def work(self) -> str:
        """What was seen and what is done, in one line; empty for neither."""
        asked = ""
        if self.group == "changed" and self.reading and self.verdict != "beyond limit":
            asked = f", on the word of the person who inspected: the reading is {self.verdict}"
        pieces = (
            f"Seen: {self.seen}." if self.seen else "",
            f"Work: {self.action}{asked}." if self.action else "",
        )
        return " ".join(p for p in pieces if p)

    @property
    def judged(self) -> str:
        """The word of the verdict and whose limit it is."""
        return f"{self.verdict} ({self.kind})" if self.kind else self.verdict

    @property
    def short(self) -> str:
        """The finding in one line."""
        pieces = (self.reading, self.seen, self.judged, self.action)
        return f"{self.part}: {', '.join(p for p in pieces if p)}" if any(pieces) else self.part


class Report(Frozen):
    """A signed record in the order an owner reads it.

    Attributes:
        shop: name of the shop, or empty.
        unit: what the shop calls the truck.
        facts: name and value of what stands in the head.
        summary: sentences for the first page.
        lines: every finding that holds, in walk-round order.
        estimate: what the work may cost; None where the shop has no table, or nothing is to be done.
        missing: what the plan asked for and nobody measured.
        notices: doubts about files and notes.
        cautions: what a reading does not say, and dangers of the work.
        signed: who, when.
        sha256: hash of the signed record.
    """

    shop: str
    unit: str
    facts: tuple[tuple[str, str], ...]
    summary: tuple[str, ...]
    lines: tuple[Line, ...]
    estimate: EstimateShown | None
    missing: tuple[str, ...]
    notices: tuple[str, ...]
    cautions: tuple[str, ...]
    signed: str
    sha256: str

    def of(self, group: Group) -> tuple[Line, ...]:
        """The lines of one section."""
        return tuple(line for line in self.lines if line.group == group)

    def short(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What the first page lists: headings, each with its findings in one line; long lists are cut."""
        listed = []
        for group in _FIRST_PAGE:
            lines = [line.short for line in self.of(group)]
            if len(lines) > _MOST_SHORT:
                left = len(lines) - _MOST_SHORT + 1
                lines = [*lines[: _MOST_SHORT - 1], f"and {left} more on the following pages"]
            if lines:
                listed.append((TITLES[group], tuple(lines)))
        return tuple(listed)


TITLES: dict[Group, str] = {
    "changed": "What is changed, and why",
    "found": "What else was found",
    "not judged": "What was not judged",
    "fine": "What was fine",
}


ESTIMATE_HEADS = ("Work, and why", "Labor", "Its price", "Parts", "Total")

_FIRST_PAGE: tuple[Group, ...] = ("changed", "found")


def _words(identifier: str) -> str:
    return identifier.replace("_", " ")


def _number(value: Decimal, unit: str, measure: str = "") -> str:
    thirty_seconds = Fraction(value) * 32
    if measure == "tread_depth" and unit == "[in_i]" and thirty_seconds.denominator == 1:
        return f"{thirty_seconds.numerator}/32 in"
    words = UNITS[unit].words if unit in UNITS else unit
    return f"{value:f}{'' if words in {'%', '°'} else ' '}{words}"


def _reading(reading: Reading | None) -> str:
    if reading is None:
        return ""
    return f"{_words(reading.measure)} {_number(reading.value, reading.unit, reading.measure)}"


def _rule(limit: LimitUsed) -> Rule:
    place = f", {limit.jurisdiction}" if limit.jurisdiction not in {"", "none"} else ""
    kind = "" if limit.source.startswith(limit.kind) else f"{limit.kind}: "
    return Rule(
        sentence=limit.sentence,
        whose=f"{kind}{limit.source}{place}; as of: {limit.as_of}",
        result=limit.result,
    )


def _told(limit: LimitUsed, sentence: str) -> bool:
    """Whether a sentence tells the whole of a limit: its number, whose it is, and as of when."""
    return all(part in sentence for part in (limit.sentence, limit.source, limit.as_of))


def _group(finding: Finding) -> Group:
    word = finding.verdict.word if finding.verdict else "not judged"
    if finding.action in CHANGES:
        return "changed"
    if word in {"beyond limit", "near limit"} or set(finding.conditions) - _HARMLESS:
        return "found"
    if finding.action in {"monitor", "measure_again"}:
        return "found"
    if word == "within limit":
        return "fine"
    nothing_measured = finding.reading is None
    said_fine = bool(finding.conditions) or finding.action == "keep"
    return "fine" if nothing_measured and said_fine else "not judged"


def _decided(finding: Finding) -> str:
    review = finding.review
    if review is None:
        return ""
    done = "added by hand" if review.state == "added" else review.state
    reason = f": {review.reason}" if review.reason and review.state != "confirmed" else ""
    return f"{done} by {review.by}{reason}"


def _line(finding: Finding, names: dict[str, str], crop: Crop, wear: tuple[str, ...] = ()) -> Line:
    verdict, reading = finding.verdict, finding.reading
    group = _group(finding)
    photos = [e for e in finding.evidence if e.kind == "photo"][:_MOST_PHOTOS] if group != "fine" else []
    limits = [limit for limit in (verdict.limit, *verdict.others) if limit is not None] if verdict else []
    rules = tuple(_rule(limit) for limit in limits if verdict and not _told(limit, verdict.sentence))
    part = finding.position.of(_words(finding.component or "part not said"))
    word = verdict.word if verdict and (reading is not None or verdict.word != "not judged") else ""
    return Line(
        group=group,
        part=part[0].upper() + part[1:],
        reading=_reading(reading),
        given=reading.as_given if reading else "",
        seen=", ".join(_words(c) for c in finding.conditions),
        action=_words(finding.action) if finding.action else "",
        verdict=word or ("not judged" if reading is not None else ""),
        kind=verdict.limit.kind if verdict and verdict.limit and word not in {"", "not judged"} else "",
        why=verdict.sentence if verdict else "",
        rules=rules,
        further=(*(f"Suggested: {s.sentence}" for s in finding.suggestions), *wear),
        doubts=finding.attention,
        decided=_decided(finding),
        photos=tuple(
            Photo(
                jpeg=crop(e),
                caption=f"{names.get(e.capture, 'photo')}" + (f", read “{e.text}”" if e.text else ""),
            )
            for e in photos
        ),
    )


def _time(moment: datetime) -> str:
    zone = moment.strftime("%z")
    told = "UTC" if zone == "+0000" else f"UTC{zone[:3]}:{zone[3:5]}"
    return f"{moment:%Y-%m-%d %H:%M} {told}"


def _facts(record: Record) -> tuple[tuple[str, str], ...]:
    head = record.inspection
    odometer = head.odometer
    facts = [
        ("Unit", head.unit or "not named"),
        ("VIN", head.vin or "not recorded"),
        ("Odometer", f"{plain(odometer.value)} {UNITS[odometer.unit].words}" if odometer else "not recorded"),
        ("Inspected", _time(head.started_at)),
    ]
    if head.amends:
        facts.append(("Puts right", f"the record with hash {head.amends[:16]}"))
    return tuple(facts)


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _summary(lines: tuple[Line, ...], missing: int) -> tuple[str, ...]:
    sizes = {group: sum(1 for line in lines if line.group == group) for group in TITLES}
    over = [line for line in lines if line.verdict == "beyond limit"]
    idle = sum(1 for line in over if line.group != "changed")
    left = f", {idle} of them without work" if idle else ""
    sentences = [] if sizes["changed"] else ["Nothing is changed on this truck."]
    sentences += [
        f"{_count(len(lines), 'finding', 'findings')}: {sizes['changed']} with work, "
        f"{sizes['found']} to know of, "
        f"{sizes['not judged']} not judged, {sizes['fine']} fine.",
        f"{_count(len(over), 'reading is', 'readings are')} beyond the limit{left}."
        if over
        else "No reading is beyond a limit that it was held against.",
    ]
    if sizes["not judged"]:
        sentences.append(
            "Not judged means held against no limit, for the reason given there: it does not mean that the "
            "part is good."
        )
    if missing:
        sentences.append(
            f"{_count(missing, 'planned item was', 'planned items were')} not measured; see the end."
        )
    return tuple(sentences)


def report(record: Record, shop: str, crop: Crop) -> Report:
    """The report of a signed record.

    Args:
        record: signed.
        shop: name of the shop, or empty.
        crop: gives the pictures.

    Raises:
        ValueError: the record is not signed.
    """
    if record.signature is None:
        raise ValueError("a report is made of a signed record only")
    names = {c.sha256: c.original_name for c in record.captures}
    kept = [f for f in record.findings if f.review is None or f.review.state != "rejected"]
    wear: dict[str, tuple[str, ...]] = {}
    for worn in record.wear:
        wear[worn.finding] = (*wear.get(worn.finding, ()), worn.sentence)
    lines = tuple(_line(f, names, crop, wear.get(f.id, ())) for f in kept)
    missing = tuple(item.words() for item in record.call_back if item.planned)
    return Report(
        shop=shop,
        unit=record.inspection.unit or "not named",
        facts=_facts(record),
        summary=_summary(lines, len(missing)),
        lines=lines,
        estimate=estimate_shown(record.estimate),
        missing=missing,
        notices=record.notices,
        cautions=cautions(record),
        signed=f"Signed by {record.signature.by}, {_time(record.signature.at)}",
        sha256=record.signature.sha256,
    )
