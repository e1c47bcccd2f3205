"""Three inspections of one truck, each drafted from sound, confirmed and signed on the pages: what has worn.

The pad loses 1.0 mm in each 10,000 miles; the shop's limit is 3.0 mm, so 4.0 mm are left at the third
inspection. With readings to a tenth of a millimeter the pace lies between 0.9 and 1.1 mm in 10,000 miles:
36,363 to 44,444 miles are left, told in two digits, rounded outwards (arithmetic, no published source).
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from capture.ingest import ingest
from models.capture import Capture
from models.record import Record
from models.signing import verify
from models.store import Store
from pipelines.order import advance
from pipelines.review.app import create_app
from tests.doubles import Scripted, write_note
from tests.pipelines.printed import as_html, report_of, words_of
from tests.pipelines.test_own_files import own_shop

KEY = "a-key-that-only-these-tests-know"
FILES = {
    "settings.yaml": "shop: Quarry Fork\n",
    "limits/pads.yaml": """\
kind: shop rule
source: Quarry Fork inspection sheet
seen: not published
jurisdiction: none
as_of: 2026-11-01
unit: mm
near: none
limits:
  - {id: own-pad, component: brake_pad, measure: thickness, subject: brake pad, at least: 3.0}
""",
}
SAID = "Starting inspection, unit four one seven. Odometer {miles}. Left front outer pad, {pad} millimeters."
INSPECTIONS = [("20260201", "50,000", "9.0"), ("20260601", "60,000", "8.0"), ("20261001", "70,000", "7.0")]


class Desk:
    """One data folder, and what is dropped, drafted, confirmed and signed in it."""

    def __init__(self, folder: Path) -> None:
        self.home, self.inbox = folder / "home", folder / "inbox"
        self.shop = own_shop(self.home, FILES)
        self.store = Store.open(f"sqlite:///{self.home / 'droplight.db'}")

    def draft(self, day: str, said: str) -> Record:
        """A note of one morning, read to a draft."""
        note = write_note(self.inbox / f"{day}T081500.wav", salt=int(day) % 97 + 1)
        at = datetime.strptime(f"{day}18", "%Y%m%d%H").replace(tzinfo=UTC)
        taken = ingest(note, self.inbox, self.store, self.home, at, self.shop.originals)
        assert isinstance(taken, Capture)
        inspection = advance(self.store, taken.sha256, replace(self.shop, listener=Scripted([said])))
        assert inspection is not None
        draft = self.store.draft(inspection)
        assert draft is not None
        return draft

    def sign(self, id: str) -> tuple[str, Record]:
        """The page as the reviewer saw it before it was signed, and the record that was."""
        app = create_app(self.store, self.home, self.shop.settings, key=KEY)
        page = f"/inspections/{id}"
        with TestClient(app, base_url="http://127.0.0.1:8417", follow_redirects=False) as client:
            client.get(f"/?key={KEY}")
            client.post("/name", data={"name": "Ana Cole", "back": page})
            seen = client.get(page).text
            confirmed = client.post(f"{page}/confirm-plain", data=_whole(seen, f"{page}/confirm-plain"))
            assert confirmed.status_code == 303
            whole = _whole(client.get(page).text, f"{page}/sign")
            answer = client.post(f"{page}/sign", data=whole | {"by": "Ana Cole"})
            assert answer.headers["location"] == f"{page}?said=sign"
        signed = self.store.signed(id)
        assert signed is not None and verify(signed.to_json())
        return words_of(seen), signed


def _whole(text: str, action: str) -> dict[str, str]:
    """The hidden fields of a form about the whole record."""
    form = text.split(f'action="{action}"')[1].split("</form>")[0]
    return dict(re.findall(r'name="(version|seen)" value="([^"]*)"', form))


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    made = Desk(tmp_path)
    yield made
    made.store.close()


def told(record: Record) -> str:
    return as_html(report_of(record))


def test_change_pace_and_projection_appear_as_inspections_are_signed(desk: Desk) -> None:
    signed: list[Record] = []
    pages = []
    for day, miles, pad in INSPECTIONS:
        draft = desk.draft(day, SAID.format(miles=miles, pad=pad))
        assert draft.inspection.unit == "417"
        page, record = desk.sign(draft.inspection.id)
        pages.append(page)
        signed.append(record)
    first, second, third = signed
    assert [r.inspection.odometer and r.inspection.odometer.value for r in signed] == [50_000, 60_000, 70_000]

    assert first.wear == ()

    (once,) = second.wear
    assert (once.change, once.rate, once.rate_per) == (Decimal("-1"), Decimal("-0.1"), "1000 mi")
    assert once.readings == 1 and once.limit_within is None
    change = "1 mm less than on 2026-02-01 (9 mm). Over 2 readings it wears 0.1 mm in 1,000 miles."
    assert once.sentence == change
    assert change in pages[1] and change in told(second)
    assert "limit is reached" not in pages[1] + told(second)

    (twice,) = third.wear
    assert twice.limit_within == (Decimal(36), Decimal(45))
    projection = (
        "1 mm less than on 2026-06-01 (8 mm). Over 3 readings it wears 0.1 mm in 1,000 miles. "
        "At that pace the limit is reached between 36,000 and 45,000 miles from now."
    )
    assert twice.sentence == projection
    assert projection in pages[2] and projection in told(third)


def test_a_record_that_nobody_signed_is_no_earlier_reading(desk: Desk) -> None:
    drafts = [desk.draft(day, SAID.format(miles=miles, pad=pad)) for day, miles, pad in INSPECTIONS]
    assert [d.wear for d in drafts] == [(), (), ()]
