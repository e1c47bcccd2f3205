"""The printed record alone tells of each verdict: which number, which limit, whose, as of when, and how."""

import json
import re
from datetime import UTC, datetime
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from models.limits import load_limits
from models.limits.facts import head_facts
from models.places import Position
from models.record import Finding, Inspection, Reading, Record, Review, Verdict
from models.rules import load_rules
from models.settings import load_settings
from models.signing import sign
from models.units import UNITS
from pipelines.judging import judge
from samples import demo_folder
from tests.pipelines.printed import Printed, as_html, as_pdf, both, report_of, squeezed

AT = datetime(2026, 11, 3, 9, 0, tzinfo=UTC)


@lru_cache(maxsize=1)
def sample() -> Record:
    """The sample inspection as it is meant, judged by the sample's settings, and signed."""
    folder = demo_folder()
    expected = json.loads((folder / "expected.json").read_text(encoding="utf-8"))
    findings = []
    for number, raw in enumerate(expected["findings"]):
        value = raw.get("value")
        reading = None
        if value is not None:
            digits = Decimal(f"{value:.10g}")
            given = f"{digits} as said"
            reading = Reading(measure=raw["measure"], value=digits, unit=raw["unit"], as_given=given)
        findings.append(
            Finding(
                id=f"5b0cbf5e-0a57-4b53-9a0e-{number:012d}",
                component=raw["component"],
                position=Position.model_validate(raw["position"]),
                reading=reading,
                conditions=tuple(raw["conditions"]),
                action=raw["action"],
                confidence=0.9,
                review=Review(state="confirmed", by="Ana", at=AT),
            )
        )
    head = Inspection(
        id="0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d", unit=expected["unit"], started_at=AT, ended_at=AT
    )
    truck = load_settings(folder).truck
    judged = judge(findings, load_limits(), truck, load_rules(), head_facts(head.unit, None))
    return sign(Record(inspection=head, findings=judged), "Ana", AT)


def number_of(reading: Reading) -> set[str]:
    """The reading as it may be printed."""
    words, forms = UNITS[reading.unit].words, {f"{reading.value:f}"}
    for parts in (32, 16, 8, 4):
        whole, part = divmod(reading.value * parts, parts)
        if part == int(part):
            forms |= {f"{int(whole)}{int(part)}/{parts}", f"{int(reading.value * parts)}/{parts}"}
    return {squeezed(f"{form}{words}") for form in forms}


def must_tell(verdict: Verdict) -> list[str]:
    """Which limit, whose, as of when, and the verdict itself, as the record has them."""
    assert verdict.limit is not None
    used = verdict.limit
    return [verdict.word, used.sentence, used.source, used.as_of, verdict.sentence]


@both
def test_each_verdict_of_the_sample_tells_all_five(printed: Printed) -> None:
    record = sample()
    text = squeezed(printed(report_of(record)))
    judged = [f for f in record.findings if f.verdict is not None and f.verdict.word != "not judged"]
    assert len(judged) >= 14
    for finding in judged:
        assert finding.reading is not None and finding.verdict is not None
        assert any(form in text for form in number_of(finding.reading)), finding
        for told in must_tell(finding.verdict):
            assert squeezed(told) in text, told


@both
def test_what_was_computed_is_told_with_its_numbers(printed: Printed) -> None:
    text = squeezed(printed(report_of(sample())))
    for told in (
        "The two diagonals differ by 0.125 in (154.25 in, 154.375 in): this is within the limit",
        "1.2 psi was lost in 10 min (15 psi to 13.8 psi)",
        "Inner and outer differ by 4 mm (7 mm, 3 mm)",
        "The lowest treads left and right differ by 2/32 in (8/32 in at middle, 6/32 in)",
        "3 mm (about 0.1181 in) is within the limit",
    ):
        assert squeezed(told) in text, told


@both
def test_what_a_rule_suggests_is_told_with_what_it_rests_on(printed: Printed) -> None:
    text = squeezed(printed(report_of(sample())))
    assert (
        squeezed("Suggested: A hub bearing that growls is replaced. It rests on: right front hub bearing")
        in text
    )


def test_not_judged_says_why_and_never_looks_like_a_pass() -> None:
    text = as_html(report_of(sample()))
    section = text[text.index("What was not judged") : text.index("What was fine")]
    unjudged = [f for f in sample().findings if f.reading and f.verdict and f.verdict.word == "not judged"]
    assert len(unjudged) >= 5
    assert section.count("Not judged: ") >= len([f for f in unjudged if not f.conditions and not f.action])
    assert "within limit" not in section


@both
def test_the_first_page_alone_says_whose_limits_are_passed_and_what_is_left_without_work(
    printed: Printed,
) -> None:
    text = printed(report_of(sample()))
    first = squeezed(text.split("\f")[0]) if "\f" in text else squeezed(text[: text.index("Signed by Ana")])
    for told in (
        "2 readings are beyond the limit, 1 of them without work.",
        "0.062 in, beyond limit (common practice), replace",
        "thickness 3 mm, uneven wear, within limit (regulation), replace",
        "Inspected 2026-11-03 09:00 UTC",
    ):
        assert squeezed(told) in first, told


@both
def test_work_that_no_limit_asks_for_says_who_did_and_the_whole_hash_is_there(printed: Printed) -> None:
    record = sample()
    text = squeezed(printed(report_of(record)))
    asked = "Work: replace, on the word of the person who inspected: the reading is within limit."
    assert text.count(squeezed(asked)) == 1
    assert record.signature is not None
    assert f"SHA-256oftherecord:{record.signature.sha256}" in text


def test_a_number_on_paper_keeps_its_fraction_and_its_unit_on_its_line() -> None:
    lines = [line.strip() for line in as_pdf(report_of(sample())).splitlines()]
    assert any("1/4 in" in line for line in lines)
    words = "|".join(re.escape(unit.words) for unit in UNITS.values())
    broken = re.compile(rf"(\d/\d+|{words})(?!\w)")
    for above, below in pairwise(lines):
        assert not (re.search(r"\d$", above) and broken.match(below)), (above, below)
    for page in as_pdf(report_of(sample())).split("\f"):
        last = page.strip().splitlines()[-2:-1]
        assert not any(line.strip().startswith("–") and "within limit" in line for line in last), last
