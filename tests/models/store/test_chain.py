"""Each signed record of a unit names the one that was signed before it."""

import json
from datetime import UTC, datetime, timedelta
from threading import Thread

import pytest
from sqlalchemy import text

from models.record import Finding, Inspection, Record, Review
from models.signing import amendment, sign, verify
from models.store import InspectionRow, SignedError, Store
from models.store.store import AMENDMENT

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def signed(id: str, unit: str | None) -> Record:
    finding = Finding(
        id="f", component="brake_pad", confidence=1, review=Review(state="confirmed", by="A", at=AT)
    )
    draft = Record(inspection=Inspection(id=id, unit=unit, started_at=AT, ended_at=AT), findings=(finding,))
    return sign(draft, "A", AT + timedelta(minutes=1))


def keep(store: Store, id: str, unit: str | None) -> Record:
    store.add_inspection(
        InspectionRow(id=id, unit=unit, folder="", started_at=AT, ended_at=AT, state="open", version=0)
    )
    store.sign(id, signed(id, unit), 0)
    kept = store.signed(id)
    assert kept is not None
    return kept


def test_each_record_names_the_one_before(store: Store) -> None:
    first = keep(store, "one", "417")
    keep(store, "other", "9")
    second = keep(store, "two", " 417 ")
    third = keep(store, "three", "417")
    assert first.signature and second.signature and third.signature
    assert first.signature.previous_sha256 is None
    assert "previous_sha256" not in first.to_json()["signature"]
    assert second.signature.previous_sha256 == first.signature.sha256
    assert third.signature.previous_sha256 == second.signature.sha256
    assert store.chain("417") == [first, second, third]
    for record in (first, second, third):
        assert verify(json.loads(json.dumps(record.to_json())))


def test_records_without_a_unit_have_no_chain(store: Store) -> None:
    keep(store, "one", None)
    second = keep(store, "two", None)
    assert second.signature is not None
    assert second.signature.previous_sha256 is None


def test_records_signed_at_once_form_one_chain(store: Store) -> None:
    threads = [Thread(target=keep, args=(store, str(n), "417")) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    chain = [r.signature for r in store.chain("417") if r.signature]
    assert len(chain) == 6
    assert [s.previous_sha256 for s in chain] == [None, *(s.sha256 for s in chain[:-1])]


def test_an_older_database_learns_of_its_chains(url: str) -> None:
    from models.store.connection import connect, upgrade
    from models.store.tables import inspections, outbox

    place, database = connect(url)
    upgrade(database, place, "0002")
    row = InspectionRow(
        id="one", unit="Truck  4", folder="", started_at=AT, ended_at=AT, state="signed", version=0
    )
    first = signed("one", "Truck  4")
    with database.write() as connection:
        connection.execute(inspections.insert().values(row.model_dump()))
        values = {"inspection": "one", "record": json.dumps(first.to_json())}
        connection.execute(text("INSERT INTO signed_records VALUES (:inspection, :record)"), values)
        connection.execute(outbox.insert().values(inspection="one"))
    database.engine.dispose()
    again = Store.open(url)
    second = keep(again, "two", "truck 4")
    assert again.chain("TRUCK 4") == [first, second]
    assert second.signature and first.signature
    assert second.signature.previous_sha256 == first.signature.sha256
    again.close()


def test_an_amendment_names_what_it_puts_right_and_takes_no_files(store: Store) -> None:
    first = keep(store, "one", "417")
    draft = amendment(first, "two")
    assert first.signature is not None
    assert draft.inspection.amends == first.signature.sha256
    assert draft.inspection.state == "draft"
    assert [f.review for f in draft.findings] == [None]
    row = InspectionRow(
        id="two", unit=None, folder=f"{AMENDMENT}one", started_at=AT, ended_at=AT, state="open", version=0
    )
    store.add_inspection(row)
    with pytest.raises(SignedError, match="by hand"):
        store.assign("0" * 64, "two")
