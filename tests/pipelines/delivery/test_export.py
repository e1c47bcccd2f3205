import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from models.events import ReviewEvent, fingerprint, reviewed
from models.places import Position
from models.record import Finding, Inspection, Reading, Record
from models.signing import sign, verify
from models.store import InspectionRow, Store
from pipelines.delivery import export
from pipelines.delivery.export import DeliveryError, NotSigned, deliver, export_record

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
ID = "0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d"


def _draft(id: str = ID, unit: str | None = "417") -> Record:
    reading = Reading(measure="thickness", value=Decimal("4.50"), unit="mm", as_given="four point five oh")
    pad = Finding(
        id="5b0cbf5e-0a57-4b53-9a0e-2f0a4f5f8c11",
        component="brake_pad",
        position=Position(side="left", axle="front", face="outer"),
        reading=reading,
        confidence=0.9,
    )
    boot = Finding(
        id="5b0cbf5e-0a57-4b53-9a0e-2f0a4f5f8c12",
        component="cv_boot",
        conditions=("torn",),
        confidence=0.9,
        position=Position(side="right"),
    )
    head = Inspection(id=id, unit=unit, started_at=AT, ended_at=AT)
    return Record(inspection=head, findings=(pad, boot))


def _signed(draft: Record) -> Record:
    pad, boot = draft.findings
    events = [
        ReviewEvent(kind="confirm", finding=pad.id, by="Ana", at=AT, seen=fingerprint(pad)),
        ReviewEvent(
            kind="reject", finding=boot.id, by="Ana", at=AT, reason="another truck", seen=fingerprint(boot)
        ),
    ]
    return sign(reviewed(draft, events), "Ana", AT)


@pytest.fixture
def store(tmp_path: Path):
    opened = Store.open(f"sqlite:///{tmp_path / 'droplight.db'}")
    yield opened
    opened.close()


def _keep(store: Store, draft: Record, signed: bool) -> None:
    id = draft.inspection.id
    row = InspectionRow(
        id=id, unit=draft.inspection.unit, folder="", started_at=AT, ended_at=AT, state="open", version=0
    )
    store.add_inspection(row)
    store.put_draft(id, draft)
    if signed:
        store.sign(id, _signed(draft), 0)


def test_signed_records_are_written_once(store: Store, tmp_path: Path) -> None:
    _keep(store, _draft(), signed=True)
    _keep(store, _draft(id="11111111-3a3f-4f5c-9a7c-5c7f0a1b2c3d", unit="418"), signed=False)
    out = tmp_path / "new" / "out"
    written = deliver(store, out)
    assert [p.name for p in written] == ["417-20261120-0d2b9a56.json", "417-20261120-0d2b9a56.csv"]
    assert sorted(p.name for p in out.iterdir()) == sorted(p.name for p in written)
    before = {p: p.stat().st_mtime_ns for p in written}
    assert deliver(store, out) == []
    assert {p: p.stat().st_mtime_ns for p in written} == before


def test_the_json_is_the_record_and_still_verifies(tmp_path: Path) -> None:
    record = _signed(_draft(unit="Ω 7"))
    path, _ = export_record(record, tmp_path)
    text = path.read_text(encoding="utf-8")
    assert "Ω 7" in text
    data = json.loads(text)
    assert data == record.to_json()
    assert verify(data)
    assert data["findings"][0]["reading"]["exact"] == "4.50"
    assert data["findings"][1]["review"]["state"] == "rejected"


def test_a_draft_is_never_written(tmp_path: Path) -> None:
    with pytest.raises(NotSigned, match=r"record of '417' is not signed .* review page"):
        export_record(_draft(), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_record_changed_after_signing_is_never_written(tmp_path: Path) -> None:
    record = _signed(_draft())
    head = record.inspection.model_copy(update={"unit": "999"})
    with pytest.raises(NotSigned, match="not what Ana signed"):
        export_record(record.model_copy(update={"inspection": head}), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_record_altered_in_the_database_is_not_marked_as_delivered(store, tmp_path, monkeypatch) -> None:
    record = _signed(_draft())
    altered = record.model_copy(update={"notices": ("slipped in",)})
    monkeypatch.setattr(store, "undelivered", lambda: [altered])
    marked: list[str] = []
    monkeypatch.setattr(store, "mark_delivered", lambda id, at: marked.append(id))
    with pytest.raises(NotSigned):
        deliver(store, tmp_path / "out")
    assert marked == []


def test_ids_that_begin_alike_get_files_of_their_own(tmp_path: Path) -> None:
    other = ID[:-1] + "e"
    first = export_record(_signed(_draft()), tmp_path)
    second = export_record(_signed(_draft(id=other)), tmp_path)
    assert len({*first, *second}) == 4
    assert json.loads(first[0].read_text())["inspection"]["id"] == ID
    assert json.loads(second[0].read_text())["inspection"]["id"] == other
    assert export_record(_signed(_draft(id=other)), tmp_path) == second


@pytest.mark.parametrize(
    ("unit", "stem"),
    [
        (None, "no-unit-20261120-0d2b9a56"),
        ("../../etc/passwd", "etc-passwd-20261120-0d2b9a56"),
        ("Größe 12/3", "Groe-12-3-20261120-0d2b9a56"),
        ("卡车", "no-unit-20261120-0d2b9a56"),
        ("CON", "CON-20261120-0d2b9a56"),
        ("x" * 300, "x" * 40 + "-20261120-0d2b9a56"),
    ],
)
def test_names_stay_inside_the_folder(tmp_path: Path, unit: str | None, stem: str) -> None:
    path, table = export_record(_signed(_draft(unit=unit)), tmp_path)
    assert path == tmp_path / f"{stem}.json"
    assert table == tmp_path / f"{stem}.csv"


def test_a_crash_while_writing_leaves_no_half_file(store, tmp_path, monkeypatch) -> None:
    _keep(store, _draft(), signed=True)
    out = tmp_path / "out"

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(export.os, "fsync", full)
        with pytest.raises(DeliveryError, match=r"'417' could not be written to .*out: No space left"):
            deliver(store, out)
    assert list(out.iterdir()) == []
    assert len(deliver(store, out)) == 2


def test_a_crash_between_writing_and_noting_writes_the_same_again(store, tmp_path, monkeypatch) -> None:
    _keep(store, _draft(), signed=True)
    out = tmp_path / "out"

    def killed(id: str, at: datetime) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(store, "mark_delivered", killed)
        with pytest.raises(KeyboardInterrupt):
            deliver(store, out)
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    assert len(before) == 2
    deliver(store, out)
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before
    assert store.undelivered() == []


def test_a_folder_that_is_a_file_is_explained(tmp_path: Path) -> None:
    blocked = tmp_path / "out"
    blocked.write_text("")
    with pytest.raises(DeliveryError, match="Make the folder writable or name another"):
        export_record(_signed(_draft()), blocked)
