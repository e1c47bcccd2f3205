"""A changed record is found, and so is one that was taken away."""

import json
import random
from datetime import UTC, datetime
from pathlib import Path

import pytest

from models.record import Finding, Inspection, Record, Review
from models.signing import chained, sign
from pipelines.commands.main import main
from pipelines.delivery.verifying import Wrong, check_chain, read_record, records_in

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def signed(number: int, unit: str = "417", previous: str | None = None, amends: str | None = None) -> Record:
    finding = Finding(
        id=f"5b0cbf5e-0a57-4b53-9a0e-{number:012d}",
        component="brake_pad",
        confidence=0.9,
        review=Review(state="confirmed", by="Ana", at=AT),
    )
    head = Inspection(
        id=f"0d2b9a56-3a3f-4f5c-9a7c-{number:012d}", unit=unit, started_at=AT, ended_at=AT, amends=amends
    )
    record = sign(Record(inspection=head, findings=(finding,)), "Ana", AT)
    return chained(record, previous) if previous else record


def sha(record: Record) -> str:
    assert record.signature is not None
    return record.signature.sha256


def write(folder: Path, *records: Record) -> list[Path]:
    paths = [folder / f"{n}.json" for n, _ in enumerate(records)]
    for path, record in zip(paths, records, strict=True):
        path.write_text(json.dumps(record.to_json(), indent=2))
    return paths


def three(amend: bool = True) -> tuple[Record, Record, Record]:
    first = signed(1)
    second = signed(2, previous=sha(first), amends=sha(first) if amend else None)
    return first, second, signed(3, previous=sha(second))


def test_a_whole_chain_holds(tmp_path: Path) -> None:
    paths = write(tmp_path, *three())
    known = records_in(tmp_path)
    assert [check_chain(read_record(path), known) for path in paths] == [0, 1, 2]


def test_every_changed_byte_is_found(tmp_path: Path) -> None:
    path = write(tmp_path, three()[1])[0]
    whole = path.read_bytes()
    rng = random.Random(5)
    found = 0
    for _ in range(600):
        at = rng.randrange(len(whole))
        byte = rng.choice([b for b in range(256) if b != whole[at]])
        changed = whole[:at] + bytes([byte]) + whole[at + 1 :]
        path.write_bytes(changed)
        try:
            read_record(path)
        except Wrong:
            found += 1
            continue
        assert json.loads(changed) == json.loads(whole)  # only blanks between the members differ
    assert found > 300


def test_what_is_wrong_is_said(tmp_path: Path) -> None:
    first, second, third = three()
    path = write(tmp_path, third)[0]
    with pytest.raises(Wrong, match=r"names .* as the one before it, which is missing"):
        check_chain(third, records_in(tmp_path))
    with pytest.raises(Wrong, match="as the record that it amends, which is missing"):
        check_chain(second, {sha(third): third})
    with pytest.raises(Wrong, match="another unit"):
        check_chain(signed(4, unit="9", previous=sha(first)), {sha(first): first})
    fork = signed(5, previous=sha(first))
    with pytest.raises(Wrong, match="Two records follow"):
        check_chain(third, {sha(r): r for r in (first, second, third, fork)})
    text = path.read_text()
    path.write_text(text.replace('"unit": "417"', '"unit": "9", "unit": "417"'))
    with pytest.raises(Wrong, match="twice"):
        read_record(path)
    draft = json.loads(text)
    del draft["signature"]
    path.write_text(json.dumps(draft))
    with pytest.raises(Wrong, match="is a draft"):
        read_record(path)
    path.write_text("[]")
    with pytest.raises(Wrong, match="not a record"):
        read_record(path)
    with pytest.raises(Wrong, match="cannot be read"):
        read_record(tmp_path / "none.json")


def test_the_command_says_it_in_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DROPLIGHT_HOME", str(tmp_path / "home"))
    paths = write(tmp_path, *three())
    assert main(["verify", str(paths[2]), "--folder", str(tmp_path)]) == 0
    assert capsys.readouterr().out == (
        f"{paths[2]} is what Ana signed at 2026-11-20T09:30:00+00:00.\nIt follows 2 earlier record(s).\n"
    )
    paths[1].write_text(paths[1].read_text().replace("0.9", "0.8"))
    assert main(["verify", str(paths[1])]) == 1
    said = capsys.readouterr().err
    assert said == (
        f"droplight: {paths[1]} was changed after it was signed: its hash is not the one in its signature.\n"
    )
    assert main(["verify", str(paths[2]), "--store"]) == 1
    assert "was not signed in" in capsys.readouterr().err
