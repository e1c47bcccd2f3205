"""The inspection record: the format that leaves the program (``droplight/record/1``)."""

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, Field, PlainSerializer, SerializationInfo

from models.capture import Capture
from models.display import Box
from models.estimate import Estimate, EstimateLine
from models.frozen import Frozen
from models.places import Position

SCHEMA = "droplight/record/1"

VerdictWord = Literal["within limit", "near limit", "beyond limit", "not judged"]
PlanState = Literal["done", "missing", "measure again"]
WearPer = Literal["1000 mi", "month"]
ReviewState = Literal["proposed", "confirmed", "corrected", "rejected", "added"]

_PUBLISHED = {"published": True}


def _number(value: Decimal, info: SerializationInfo) -> float | str:
    """A JSON number in the published record, whose exact digits stand beside it; text everywhere else."""
    return float(value) if info.context == _PUBLISHED else str(value)


Number = Annotated[Decimal, PlainSerializer(_number, when_used="json")]


class Reading(Frozen):
    """One measured value.

    Attributes:
        measure: identifier of the vocabulary.
        value: the number, with exactly the decimals given.
        unit: UCUM code.
        as_given: how it was said or shown.
    """

    measure: str
    value: Number
    unit: str
    as_given: str


class Alternative(Frozen):
    """Another value that was heard or seen for the same reading, with its weight (0 to 1)."""

    value: Number
    unit: str
    weight: float


class Evidence(Frozen):
    """Where a finding comes from.

    Attributes:
        kind: audio or photo.
        capture: sha256 of the file.
        text: the words heard or the characters seen.
        start_s: audio: where it begins (seconds).
        end_s: audio: where it ends.
        box: photo: x, y, width, height of the digits in pixels of the upright photo.
    """

    kind: Literal["audio", "photo"]
    capture: str
    text: str
    start_s: float | None = None
    end_s: float | None = None
    box: Box | None = None


class LimitUsed(Frozen):
    """A limit as it stood when the finding was judged.

    Attributes:
        id: its name in config/limits.
        sentence: the rule in words, with its number and unit.
        kind: regulation, maker, shop rule or common practice.
        source: citation.
        jurisdiction: where it holds.
        as_of: the date on which the source was read.
        result: what this limit alone says of the reading.
    """

    id: str
    sentence: str
    kind: Literal["regulation", "maker", "shop rule", "common practice"]
    source: str
    jurisdiction: str
    as_of: str
    result: VerdictWord


class Verdict(Frozen):
    """What the reading means against its limit.

    Attributes:
        word: the result.
        sentence: why, in words that can be printed: which number, which limit, whose, what was computed.
        limit: the limit that governs, or None when not judged.
        others: further limits that apply, each with its own result.
        bounds: low and high end of what is allowed, in ``bounds_unit``, for drawing a scale.
        bounds_unit: UCUM code of the bounds.
    """

    word: VerdictWord
    sentence: str
    limit: LimitUsed | None = None
    others: tuple[LimitUsed, ...] = ()
    bounds: tuple[Number | None, Number | None] | None = None
    bounds_unit: str | None = None


class Review(Frozen):
    """What a reviewer decided about a finding."""

    state: ReviewState
    by: str | None = None
    at: AwareDatetime | None = None
    reason: str | None = None


class Suggestion(Frozen):
    """What a rule suggests in view of this finding; a person decides, and nothing is changed by it.

    Attributes:
        rule: id of the rule in config/rules.yaml.
        component: the part it is about.
        action: identifier of the vocabulary; None when a fact that decides is not known.
        sentence: the rule and what it rests on, in words that can be printed.
        kind: who says so.
        source: citation.
        because: ids of the findings it rests on.
    """

    rule: str
    component: str
    action: str | None
    sentence: str
    kind: Literal["regulation", "maker", "shop rule", "common practice"]
    source: str
    because: tuple[str, ...] = ()


class Finding(Frozen):
    """One line of the record.

    Attributes:
        id: UUID; the same when the same captures are drafted again.
        component: identifier of the vocabulary; None when a photo shows a value and nobody said of what.
        confidence: 0 to 1, meant as the chance that component, position and value are all right.
        attention: plain sentences, one for each reason why a person must look before accepting.
        suggestions: what rules that combine several findings suggest beside the verdict.
        review: absent from a draft.
    """

    id: str
    component: str | None
    position: Position = Position()
    reading: Reading | None = None
    conditions: tuple[str, ...] = ()
    action: str | None = None
    confidence: float
    alternatives: tuple[Alternative, ...] = ()
    attention: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    verdict: Verdict | None = None
    suggestions: tuple[Suggestion, ...] = ()
    review: Review | None = None


class Odometer(Frozen):
    """The distance counter, in miles or kilometres."""

    value: Number
    unit: str


class Inspection(Frozen):
    """The head of a record.

    Attributes:
        id: UUID.
        unit: what the shop calls the truck.
        state: draft or signed.
        amends: hash of the signed record that this one puts right; that one stays as it was signed.
    """

    id: str
    unit: str | None = None
    vin: str | None = None
    odometer: Odometer | None = None
    started_at: AwareDatetime
    ended_at: AwareDatetime
    state: Literal["draft", "signed"] = "draft"
    amends: str | None = None


class PlanItem(Frozen):
    """One thing that must be measured or looked at on this truck, and what has become of it.

    Attributes:
        stop: where on the walk round it comes up, in words; empty for what no plan asks for.
        component: identifier of the vocabulary; None for a photo of which nobody said what it shows.
        position: the place; a finding may say more of it.
        measure: what must be measured; None: looking at it and saying what is seen is enough.
        readings: how many readings at different spots it takes.
        together: measures without which the reading means nothing, such as the time of a hold.
        planned: the truck's plan asks for it; else a doubtful finding outside of the plan does.
        state: what has become of it.
        why: what is missing or must be measured again, in words for the technician.
        findings: ids of the findings that answer it.
    """

    stop: str = ""
    component: str | None
    position: Position = Position()
    measure: str | None = None
    readings: int = 1
    together: tuple[str, ...] = ()
    planned: bool = True
    state: PlanState = "missing"
    why: str = ""
    findings: tuple[str, ...] = ()

    def words(self) -> str:
        """Place, part and measure: ``left front outer brake pad thickness``; ``voltage on a photo``."""
        measure = (self.measure or "").replace("_", " ")
        if self.component is None:
            return self.position.of(f"{measure or 'something'} on a photo")
        return self.position.of(f"{self.component.replace('_', ' ')} {measure}".strip())


class Wear(Frozen):
    """What has become of a reading since earlier signed records of the same truck.

    Attributes:
        finding: id of the finding; part, place, measure, value and unit are repeated, because the statement
            holds for just this reading.
        component: identifier of the vocabulary.
        position: the place.
        measure: identifier of the vocabulary.
        value: the reading now.
        unit: UCUM code of all numbers here.
        since: when the last earlier reading was taken.
        change: now less then.
        readings: how many earlier readings the rate rests on.
        rate: change in 1,000 miles or in a month; None when too little lies between the readings.
        rate_per: which of the two.
        limit_within: soonest and latest that the limit is reached, in thousands of miles or in months from
            now; the latest is None when none can be told. Only with two or more earlier readings.
        sentence: all of it in words that can be printed.
    """

    finding: str
    component: str
    position: Position = Position()
    measure: str
    value: Number
    unit: str
    since: AwareDatetime
    change: Number
    readings: int
    rate: Number | None = None
    rate_per: WearPer | None = None
    limit_within: tuple[Number, Number | None] | None = None
    sentence: str


class Signature(Frozen):
    """Who signed, when, and the hash of what was signed.

    Attributes:
        by: the reviewer's name.
        at: when.
        sha256: digest of the record's RFC 8785 form without this signature's ``sha256``.
        previous_sha256: digest of the record of the same unit that was signed before; None for its first.
    """

    by: str
    at: AwareDatetime
    sha256: str = ""
    previous_sha256: str | None = None


def _keep_digits(raw: dict[str, Any], value: Decimal) -> None:
    # Only where the number would lose them: a record signed before there was "exact" keeps its hash.
    if Decimal(str(float(value))).as_tuple() != value.as_tuple():
        raw["exact"] = f"{value:f}"


def _with_digits(raw: dict[str, Any]) -> dict[str, Any]:
    # A program on the way may have written 5.0 as 5, which is the same number in JSON: read both alike.
    exact = raw.get("exact", str(float(raw["value"])))
    return {k: v for k, v in raw.items() if k != "exact"} | {"value": Decimal(exact)}


class Record(Frozen):
    """A whole inspection record.

    Attributes:
        schema_name: always ``droplight/record/1``.
        captures: every file the record rests on.
        notices: plain sentences about files without a reading, rejected files, doubts about a whole note.
        plan_name: the plan that says what must be measured; None when none was chosen.
        plan: its items in walk-round order, then doubtful findings that it does not ask for.
        wear: readings against earlier signed records of the same truck.
        estimate: what the work may cost by the shop's own table; None without one.
        signature: None for a draft.
    """

    schema_name: Literal["droplight/record/1"] = Field(default="droplight/record/1", alias="schema")
    inspection: Inspection
    findings: tuple[Finding, ...]
    captures: tuple[Capture, ...] = ()
    notices: tuple[str, ...] = ()
    plan_name: str | None = None
    plan: tuple[PlanItem, ...] = ()
    wear: tuple[Wear, ...] = ()
    estimate: Estimate | None = None
    signature: Signature | None = None

    @property
    def call_back(self) -> tuple[PlanItem, ...]:
        """What the technician must still measure, or measure again, while the truck is up."""
        return tuple(item for item in self.plan if item.state != "done")

    def to_json(self) -> dict[str, Any]:
        """The record as JSON-ready data in the published format.

        Unknown places are left out of ``position``; ``exact`` holds a reading's digits as given, because a
        JSON number loses a trailing zero. Other values that were said have it where digits would be lost.
        """
        data: dict[str, Any] = self.model_dump(mode="json", by_alias=True, context=_PUBLISHED)
        for finding, raw in zip(self.findings, data["findings"], strict=True):
            raw["position"] = finding.position.keys()
            if finding.reading is not None:
                raw["reading"]["exact"] = f"{finding.reading.value:f}"
            for other, raw_other in zip(finding.alternatives, raw["alternatives"], strict=True):
                _keep_digits(raw_other, other.value)
            for name in ("review", "suggestions"):
                if not raw[name]:
                    del raw[name]
        if self.inspection.odometer is not None:
            _keep_digits(data["inspection"]["odometer"], self.inspection.odometer.value)
        lines = self.estimate.lines if self.estimate is not None else ()
        placed: tuple[PlanItem | Wear | EstimateLine, ...] = (*self.plan, *self.wear, *lines)
        raws = (*data["plan"], *data["wear"], *(data["estimate"]["lines"] if lines else ()))
        for item, raw in zip(placed, raws, strict=True):
            raw["position"] = item.position.keys()
        for part, name in (("inspection", "amends"), ("signature", "previous_sha256")):
            if data[part] and data[part][name] is None:
                del data[part][name]
        for name in ("signature", "plan_name", "plan", "wear", "estimate"):
            # What is not there has no member, so that a record signed before there were plans keeps its hash.
            if not data[name]:
                del data[name]
        return data

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> "Record":
        """The record of JSON-ready data, with readings exactly as given."""
        findings = []
        for raw in data["findings"]:
            reading = raw.get("reading")
            if reading is not None:
                reading = {k: v for k, v in reading.items() if k != "exact"} | {
                    "value": Decimal(reading.get("exact", str(reading["value"])))
                }
            others = [_with_digits(other) for other in raw.get("alternatives", ())]
            findings.append({**raw, "reading": reading, "alternatives": others})
        head = data["inspection"]
        if head.get("odometer") is not None:
            head = {**head, "odometer": _with_digits(head["odometer"])}
        return cls.model_validate({**data, "findings": findings, "inspection": head})
