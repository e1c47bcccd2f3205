"""The owner's report says what stands in the record, all of it, and nothing else."""

import io
import re
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image

from capture.originals import Folder
from models.capture import Capture
from models.estimate import Estimate
from models.places import Position
from models.record import Evidence, Finding, Inspection, LimitUsed, Reading, Record, Review, Verdict
from models.signing import sign
from pipelines.delivery.export import export_record
from pipelines.delivery.extras import making
from pipelines.delivery.mapping import MappingError, load_mapping, mapped_table
from pipelines.delivery.pictures import cropping
from pipelines.delivery.report import report
from pipelines.delivery.report_html import html
from pipelines.delivery.report_pdf import pdf

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
SHA = "ab" * 32


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "grey").save(out, "JPEG")
    return out.getvalue()


def finding(number: int, **more: object) -> Finding:
    review = Review(state="confirmed", by="Ana", at=AT)
    base = {"id": f"5b0cbf5e-0a57-4b53-9a0e-{number:012d}", "component": "brake_pad", "confidence": 0.9}
    return Finding.model_validate({**base, "review": review, **more})


def verdict(word: str) -> Verdict:
    limit = LimitUsed.model_validate(
        {
            "id": "pads",
            "sentence": "Pads: at least 3.2 mm.",
            "kind": "regulation",
            "source": "49 CFR 393.47(d)",
            "jurisdiction": "US",
            "as_of": "2026-08-01",
            "result": word,
        }
    )
    return Verdict.model_validate({"word": word, "sentence": f"It is {word}.", "limit": limit})


def reading(value: str, measure: str = "thickness", unit: str = "mm") -> Reading:
    return Reading(measure=measure, value=Decimal(value), unit=unit, as_given=f"said {value}")


def signed(unit: str = "417") -> Record:
    photo = Evidence(kind="photo", capture=SHA, text="2.50", box=(10, 10, 20, 10))
    findings = (
        finding(
            1,
            position=Position(side="left", axle="front"),
            reading=reading("2.50"),
            verdict=verdict("beyond limit"),
            action="replace",
            evidence=(photo,),
            attention=("Voice and photo differed.",),
        ),
        finding(2, reading=reading("3.40"), verdict=verdict("near limit")),
        finding(3, reading=reading("9.0"), verdict=verdict("within limit")),
        finding(4, component="battery", reading=reading("12.60", "voltage", "V")),
        finding(5, component="cv_boot", conditions=("torn",)),
        finding(6, component="alternator", conditions=("ok",)),
        finding(7, component="tire", reading=reading("0.21875", "tread_depth", "[in_i]")),
        finding(
            8, component="muffler", reading=reading("77.7"), review=Review(state="rejected", by="Ana", at=AT)
        ),
    )
    capture = Capture(
        sha256=SHA,
        kind="photo",
        original_name="<b>IMG.jpg",
        size=1,
        captured_at=AT,
        time_source="exif",
        zone_known=True,
        width=60,
        height=40,
    )
    head = Inspection(id="0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d", unit=unit, started_at=AT, ended_at=AT)
    return sign(Record(inspection=head, findings=findings, captures=(capture,)), "Ana", AT)


def test_every_finding_that_holds_has_its_section() -> None:
    told = report(signed(), "A garage", lambda _: jpeg())
    assert {g: len(told.of(g)) for g in ("changed", "found", "not judged", "fine")} == {
        "changed": 1,
        "found": 2,
        "not judged": 2,
        "fine": 2,
    }
    assert "77.7" not in told.model_dump_json(exclude={"lines": {"__all__": {"photos"}}})
    changed = told.of("changed")[0]
    assert changed.part == "Left front brake pad"
    assert (changed.reading, changed.verdict) == ("thickness 2.50 mm", "beyond limit")
    assert changed.rules[0].whose == "regulation: 49 CFR 393.47(d), US; as of: 2026-08-01"
    assert told.of("not judged")[1].reading == "tread depth 7/32 in"
    assert told.summary[:2] == (
        "7 findings: 1 with work, 2 to know of, 2 not judged, 2 fine.",
        "1 reading is beyond the limit.",
    )


def test_a_draft_has_no_report() -> None:
    draft = signed().model_copy(update={"signature": None})
    with pytest.raises(ValueError, match="signed"):
        report(draft, "", lambda _: None)


def test_the_html_holds_everything_and_runs_nothing() -> None:
    text = html(report(signed(unit="<script>alert(1)</script>"), "A & B", lambda _: jpeg()))
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert "A &amp; B" in text
    assert "<b>IMG" not in text
    for words in (
        "2.50 mm",
        "49 CFR 393.47(d)",
        "Voice and photo differed.",
        "12.60 V",
        "7/32 in",
        "licensed",
    ):
        assert words in text
    assert text.count("data:image/jpeg;base64,") == 1
    assert not re.findall(r"(?:src|href)=\"(?!data:image/jpeg)", text)


def test_an_estimate_is_printed_with_its_reasons_and_totals() -> None:
    line = {"component": "brake_pad", "action": "replace", "basis": "said", "reason": "It is <worn>."}
    money = {"hours": "1.4", "labor": "165.20", "parts": "96.50", "total": "1261.70"}
    whose = {"currency": "USD", "labor_rate": "118", "source": "price list", "as_of": "2026-11-01"}
    lines = [
        {**line, **money, "findings": ["a"], "words": "set of pads"},
        {**line, "findings": ["b"], "words": "w"},
    ]
    totals = {"total_said": "1261.70", "total_further": "0.00", "without_figures": 1}
    costs = Estimate.model_validate({**whose, **totals, "lines": lines})
    told = report(signed().model_copy(update={"estimate": costs}), "", lambda _: None)
    text = html(told)
    for words in ("What the work may cost", "Brake pad: set of pads", "It is &lt;worn&gt;.", "1,261.70 USD"):
        assert words in text
    assert "no figures on file" in text and "is in no total" in text
    assert pdf(told).startswith(b"%PDF-")
    assert "What the work may cost" not in html(report(signed(), "", lambda _: None))


def test_the_pdf_is_one_and_the_same_each_time() -> None:
    told = report(signed(unit="Ω “7” 卡"), "A garage", lambda _: jpeg())
    made = pdf(told)
    assert made.startswith(b"%PDF-")
    assert made == pdf(told)
    assert b"Bitstream" in made  # the font lies inside


def test_a_large_inspection_keeps_its_summary_on_one_page() -> None:
    told = report(signed(), "A garage", lambda _: jpeg())
    line = told.of("changed")[0].model_copy(update={"doubts": ("A long doubt. " * 20,) * 60})
    many = told.model_copy(update={"lines": (line,) * 14})
    (title, short), *rest = many.short()
    assert (title, rest) == ("What is changed, and why", [])
    assert len(short) == 12
    assert short[-1] == "and 3 more on the following pages"
    made = pdf(many)  # findings longer than a page are split
    assert len(re.findall(rb"/Type /Page\b", made)) > 14


def test_a_missing_original_is_said(tmp_path: Path) -> None:
    record = signed()
    text = html(report(record, "", cropping(record, Folder(tmp_path / "originals"))))
    assert "the original is not at hand" in text


def test_the_files_lie_side_by_side_and_the_json_comes_last(tmp_path: Path) -> None:
    extras = making(tmp_path, "A garage", ["work_orders"], True)
    written = export_record(signed(), tmp_path / "out", extras)
    assert [p.suffixes[-1] for p in written] == [".json", ".csv", ".csv", ".html", ".pdf"]
    assert max(written, key=lambda p: p.stat().st_mtime_ns) == written[0]
    lines = written[2].read_text().splitlines()
    assert lines[0] == "Asset,Meter,Opened,Task,Item,Reading,Reason,Source,Reference"
    assert lines[1].startswith(
        "417,,2026-11-20T09:30:00Z,replace,left front brake_pad,2.50 mm,It is beyond limit."
    )
    assert len(lines) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("columns: {A: unti}", "A: 'unti' is no column"),
        ("columns: {}", "at least one"),
        ("only: [scrap]\ncolumns: {A: unit}", "'scrap' is no action"),
        ("delimiter: x\ncolumns: {A: unit}", "delimiter"),
        ("columns: [", "cannot be read as YAML"),
    ],
)
def test_a_wrong_mapping_is_refused_at_the_start(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "delivery").mkdir()
    (tmp_path / "delivery" / "mine.yaml").write_text(text)
    with pytest.raises(MappingError, match=r"mine\.yaml") as error:
        making(tmp_path, "", ["mine"], False)
    assert said in str(error.value)


def test_a_mapping_that_is_not_there_is_said(tmp_path: Path) -> None:
    for name in ("none", "../settings"):
        with pytest.raises(MappingError, match="There is no table"):
            load_mapping(name, tmp_path)


def test_a_mapping_joins_fields_and_disarms_formulas(tmp_path: Path) -> None:
    (tmp_path / "delivery").mkdir()
    (tmp_path / "delivery" / "mine.yaml").write_text(
        'delimiter: tab\ncolumns: {"=x": {text: "=1+1"}, V: [value, value_unit], U: unit}'
    )
    text = mapped_table(signed(unit="@417"), load_mapping("mine", tmp_path))
    assert text.splitlines()[:2] == ["'=x\tV\tU", "'=1+1\t2.50 mm\t'@417"]
