"""An invented inspection with sound and photos, built by code, for the tests of the review pages."""

import hashlib
import wave
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from capture.identity import keep, sha256_of
from models.capture import Capture, Rejection
from models.places import Position
from models.record import (
    Alternative,
    Evidence,
    Finding,
    Inspection,
    LimitUsed,
    Odometer,
    Reading,
    Record,
    Verdict,
)
from models.settings import Settings
from models.store import InspectionRow, Store

KEY = "a-key-that-only-these-tests-know"
AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
ID = "0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d"


def finding_id(number: int) -> str:
    return f"5b0cbf5e-0a57-4b53-9a0e-{number:012d}"


def place(number: int) -> str:
    """Where a finding stands on the page of its inspection."""
    return f"f-{number:012d}"


@dataclass(frozen=True)
class Bench:
    """A store with one drafted inspection, and where its files lie."""

    store: Store
    home: Path
    settings: Settings
    audio: Capture
    photo: Capture


def _keep(home: Path, path: Path, **more: object) -> Capture:
    sha = sha256_of(path)
    keep(path, home / "originals", sha)
    base = {"sha256": sha, "original_name": path.name, "size": path.stat().st_size, "captured_at": AT}
    return Capture.model_validate({**base, "time_source": "file_time", "zone_known": True, **more})


def write_tone(path: Path, seconds: float) -> None:
    rate = 16000
    samples = np.sin(np.arange(int(seconds * rate)) * 2 * np.pi * 440 / rate) * 8000
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(samples.astype("<i2").tobytes())


def write_gauge(path: Path, text: str) -> None:
    image = Image.new("RGB", (640, 480), (92, 88, 80))
    draw = ImageDraw.Draw(image)
    draw.rectangle((150, 130, 490, 330), fill=(40, 42, 44))
    draw.rectangle((190, 180, 450, 280), fill=(176, 186, 160))
    draw.text((250, 196), text, fill=(20, 24, 20), font_size=64)
    image.save(path, quality=85)


def _limit(sentence: str, result: str) -> LimitUsed:
    return LimitUsed.model_validate(
        {
            "id": "front_pads",
            "sentence": sentence,
            "kind": "regulation",
            "source": "49 CFR 393.47(d)",
            "jurisdiction": "US",
            "as_of": "2026-08-01",
            "result": result,
        }
    )


def _pad_verdict(word: str, value: str) -> Verdict:
    rule = "Hydraulic front brake pads: at least 3.2 mm (1/8 in)."
    return Verdict.model_validate(
        {
            "word": word,
            "sentence": f"{value} mm against at least 3.2 mm.",
            "limit": _limit(rule, word),
            "bounds": (Decimal("3.2"), None),
            "bounds_unit": "mm",
        }
    )


def findings(audio: str, photo: str) -> tuple[Finding, ...]:
    """Six findings: two plain ones, three with doubts (one of them without a part), one without a number."""

    def heard(text: str, start: float) -> Evidence:
        return Evidence(kind="audio", capture=audio, text=text, start_s=start, end_s=start + 2)

    def pad(face: str, value: str, words: str) -> dict[str, object]:
        return {
            "component": "brake_pad",
            "position": Position(side="left", axle="front", face=face),  # type: ignore[arg-type]
            "reading": Reading(measure="thickness", value=Decimal(value), unit="mm", as_given=words),
        }

    display = Evidence(kind="photo", capture=photo, text="13.5", box=(190, 180, 260, 100))
    rows: list[dict[str, object]] = [
        {
            **pad("outer", "6.0", "six millimeters"),
            "verdict": _pad_verdict("within limit", "6.0"),
            "evidence": (heard("left front brakes. outer pad six millimeters", 1.0),),
            "confidence": 0.97,
        },
        {
            **pad("inner", "4.50", "four point five oh millimeters"),
            "verdict": _pad_verdict("near limit", "4.50"),
            "evidence": (heard("inner four point five oh millimeters", 3.0),),
            "confidence": 0.93,
        },
        {
            "component": "cooling_system",
            "reading": Reading(
                measure="pressure", value=Decimal("30.5"), unit="[psi]", as_given="thirty and a half psi"
            ),
            "alternatives": (
                Alternative(value=Decimal("13.5"), unit="[psi]", weight=0.4),
                Alternative(value=Decimal("13.0"), unit="[psi]", weight=0.1),
            ),
            "attention": ("The photo shows 13.5 psi and the voice says 30.5 psi.",),
            "evidence": (heard("cooling system pumped to thirty and a half psi", 5.0), display),
            "confidence": 0.5,
            "verdict": Verdict.model_validate(
                {
                    "word": "beyond limit",
                    "sentence": "30.5 psi is above the 16 psi of the cap.",
                    "limit": _limit("Never above the rating of the cap, 16 psi.", "beyond limit"),
                    "bounds": (None, Decimal(16)),
                    "bounds_unit": "[psi]",
                }
            ),
        },
        {
            "component": "tire",
            "position": Position(side="right", axle="front", spot="middle"),
            "reading": Reading(
                measure="tread_depth",
                value=Decimal("0.21875"),
                unit="[in_i]",
                as_given="seven thirty seconds",
            ),
            "attention": ("Heard as 730 seconds; taken as 7/32 in.",),
            "evidence": (heard("right front tire middle seven thirty seconds", 7.0),),
            "confidence": 0.7,
            "verdict": Verdict.model_validate(
                {
                    "word": "within limit",
                    "sentence": "7/32 in against at least 4/32 in.",
                    "limit": _limit("Steering axle tires: at least 4/32 in.", "within limit"),
                    "others": (_limit("A shop rule asks for 6/32 in.", "near limit"),),
                    "bounds": (Decimal("0.125"), None),
                    "bounds_unit": "[in_i]",
                }
            ),
        },
        {
            "component": "cv_boot",
            "position": Position(side="right", axle="front"),
            "conditions": ("torn",),
            "action": "replace",
            "evidence": (heard("right front c v boot is torn, replace it", 9.0),),
            "confidence": 0.8,
            "attention": ("Part heard unclearly.",),
        },
        {
            "component": None,
            "reading": Reading(measure="voltage", value=Decimal("12.64"), unit="V", as_given="12.64"),
            "attention": ("A photo without words: say which part this is about.",),
            "evidence": (Evidence(kind="photo", capture=photo, text="12.64", box=(190, 180, 260, 100)),),
            "confidence": 0.6,
        },
    ]
    return tuple(Finding.model_validate({"id": finding_id(n), **row}) for n, row in enumerate(rows, 1))


def draft(audio: Capture, photo: Capture, id: str = ID, unit: str | None = "417") -> Record:
    head = Inspection(
        id=id,
        unit=unit,
        odometer=Odometer(value=Decimal(112306), unit="[mi_i]"),
        started_at=AT,
        ended_at=AT + timedelta(minutes=12),
    )
    return Record(
        inspection=head,
        findings=findings(audio.sha256, photo.sha256),
        captures=(audio, photo),
        notices=("note-2.m4a held no speech.",),
    )


def add_inspection(store: Store, record: Record) -> None:
    head = record.inspection
    store.add_inspection(
        InspectionRow(
            id=head.id,
            unit=head.unit,
            folder="",
            started_at=head.started_at,
            ended_at=head.ended_at,
            state="open",
            version=0,
        )
    )
    store.put_draft(head.id, record)


def build(folder: Path) -> Bench:
    """A data folder with a store, two originals, one drafted inspection, one stray capture, one rejection."""
    home, inbox = folder / "home", folder / "inbox"
    inbox.mkdir(parents=True)
    home.mkdir()
    write_tone(inbox / "note 1.wav", 12)
    write_gauge(inbox / "IMG_1.jpg", "13.5")
    write_tone(inbox / "stray.wav", 1)
    audio = _keep(home, inbox / "note 1.wav", kind="audio", duration_s=12.0)
    photo = _keep(home, inbox / "IMG_1.jpg", kind="photo", width=640, height=480)
    stray = _keep(home, inbox / "stray.wav", kind="audio", duration_s=1.0)
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    for capture in (audio, photo, stray):
        store.add_capture(capture, AT)
    add_inspection(store, draft(audio, photo))
    for capture in (audio, photo):
        store.assign(capture.sha256, ID)
    store.add_rejection(Rejection(name="half.m4a", reason="half.m4a ends early: copy it again.", at=AT))
    return Bench(store=store, home=home, settings=Settings(home=home), audio=audio, photo=photo)


def unknown_hash() -> str:
    return hashlib.sha256(b"never taken in").hexdigest()


def make_large(bench: Bench, count: int) -> Record:
    """Make the inspection one of many findings, each with sound, every fifth with a photo."""
    record = draft(bench.audio, bench.photo)
    base = record.findings[:5]
    found = []
    for n in range(count):
        finding = base[n % len(base)]
        position = Position.model_validate(
            {
                "side": ("left", "right")[n % 2],
                "axle": ("front", "rear")[n % 3 % 2],
                "face": ("inner", "outer")[n // 2 % 2],
            }
        )
        found.append(finding.model_copy(update={"id": finding_id(n + 100), "position": position}))
    record = record.model_copy(update={"findings": tuple(found)})
    bench.store.put_draft(record.inspection.id, record)
    return record
