"""The real recogniser on the demo's clean note, once: what was said comes out, nothing else looks right."""

import json
import shutil
from decimal import Decimal

import pytest

import pipelines.displays
from models.record import Finding, Record
from pipelines.order import draft_folder
from pipelines.speech.listener import PROMPTS, WhisperListener
from pipelines.speech.weights import model_folder
from samples import demo_folder
from tests.doubles import Shelf, workshop

pytestmark = pytest.mark.model

# Component, place, value, unit: the measure may be said later or carried over.
Key = tuple[str | None, str, Decimal, str]


def key(finding: Finding) -> Key | None:
    if finding.reading is None:
        return None
    return (
        finding.component,
        finding.position.words(),
        finding.reading.value.normalize(),
        finding.reading.unit,
    )


@pytest.fixture(scope="module")
def expected() -> set[Key]:
    """The readings of the first note, which ends with the battery."""
    rows = json.loads((demo_folder() / "expected.json").read_text())["findings"]
    last = max(i for i, row in enumerate(rows) if row["component"] == "battery")
    found = [
        Finding.model_validate(
            {
                "id": str(i),
                "component": row["component"],
                "position": row["position"],
                "confidence": 1,
                "reading": {
                    "measure": row["measure"],
                    "value": str(row["value"]),
                    "unit": row["unit"],
                    "as_given": "",
                },
            }
        )
        for i, row in enumerate(rows[: last + 1])
        if row["measure"]
    ]
    return {one for f in found if (one := key(f)) is not None}


def test_the_prompts_can_be_decoded_beside_one_another() -> None:
    from faster_whisper.tokenizer import Tokenizer
    from tokenizers import Tokenizer as Words

    words = Words.from_file(str(model_folder("base") / "tokenizer.json"))
    tokenizer = Tokenizer(words, multilingual=True, task="transcribe", language="en")
    assert len({len(tokenizer.encode(" " + prompt)) for prompt in PROMPTS.values()}) == 1


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Record:
    folder = tmp_path_factory.mktemp("demo")
    inbox = folder / "inbox"
    inbox.mkdir()
    for path in (demo_folder() / "inbox").iterdir():
        if path.suffix in (".flac", ".jpg"):
            shutil.copy2(path, inbox)
    shop = workshop(
        folder / "home",
        WhisperListener(model_folder("base"), 2, "en"),
        getattr(pipelines.displays, "read_display", None),
    )
    return draft_folder(inbox, Shelf(), shop, lambda name: None)


def test_the_unit_is_heard(record: Record) -> None:
    assert record.inspection.unit == "23"


def test_most_readings_are_found(record: Record, expected: set[Key]) -> None:
    assert len(expected) >= 12
    found = {key(f) for f in record.findings}
    assert len(expected & found) >= 0.75 * len(expected), expected - found


@pytest.mark.parametrize(
    "reading",
    [
        ("brake_rotor", "left front", Decimal("1.255"), "[in_i]"),
        ("brake_pad", "left front outer", Decimal(9), "mm"),
        ("ball_joint", "right lower", Decimal("0.062"), "[in_i]"),
        ("battery", "", Decimal("12.58"), "V"),
    ],
)
def test_key_readings_are_found(record: Record, reading: Key) -> None:
    assert (*reading[:2], reading[2].normalize(), reading[3]) in {key(f) for f in record.findings}


def test_a_wrong_reading_never_looks_right(record: Record, expected: set[Key]) -> None:
    heard = [f for f in record.findings if any(e.kind == "audio" for e in f.evidence)]
    assert heard != []
    assert [
        key(f) for f in heard if f.reading is not None and not f.attention and key(f) not in expected
    ] == []


def test_the_dropped_value_and_the_aside_are_not_findings(record: Record) -> None:
    values = {f.reading.value for f in record.findings if f.reading is not None}
    assert Decimal("0.052") not in values  # "scratch that"
    assert not any("pry bar" in e.text.lower() for f in record.findings for e in f.evidence)
