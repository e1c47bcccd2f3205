"""A month replayed: the same inspections twice give the same records, byte for byte.

``python -m tests.soak.month --inspections 1000``. Fake recognisers hear and read by the content alone, so
whatever differs between two runs is this program's own doing. Each draft is drawn up again as well.
"""

import argparse
import json
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from capture.ingest import ingest, scan
from models.capture import Rejection
from models.display import DisplayReading
from models.store import Store
from pipelines.order import advance, redraft, unfinished
from pipelines.workshop import Workshop
from tests.doubles import Scripted, workshop
from tests.soak.fake_recogniser import reading, sentence
from tests.soak.yard import photo_bytes, tone_bytes

NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)


class Hears(Scripted):
    """Hears by the content."""

    def hear(self, samples: object) -> object:  # type: ignore[override]
        self.texts = [sentence(np.ascontiguousarray(samples).tobytes())]
        self.windows.clear()
        return super().hear(samples)  # type: ignore[arg-type]


def _reads(pixels: np.ndarray, capture: str) -> DisplayReading:
    return reading(pixels.tobytes(), capture)


def _files(inspections: int) -> Iterator[tuple[str, bytes]]:
    """Two notes and a photo an inspection; five minutes apart, on ten trucks in turn."""
    begin = datetime(2026, 11, 1, 6, 0, tzinfo=UTC)
    for number in range(inspections):
        at = begin + timedelta(minutes=40 * number)
        folder = f"T{number % 10:02d}"
        for k in range(2):
            name = f"{folder}/{at + timedelta(minutes=k):%Y%m%dT%H%M%S}Z.wav"
            yield name, tone_bytes(2 * number + k)
        yield f"{folder}/{at + timedelta(seconds=90):%Y%m%dT%H%M%S}Z.png", photo_bytes(number)


def records(base: Path, inspections: int) -> dict[str, bytes]:
    """Take a month in and draft it.

    Args:
        base: an empty folder.
        inspections: how many.

    Returns:
        Each draft's bytes, by its truck and beginning.
    """
    inbox, home = base / "inbox", base / "home"
    home.mkdir(parents=True)
    shop = workshop(home, Hears(), _reads)
    for name, content in _files(inspections):
        path = inbox / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    try:
        for path in sorted(scan(inbox), key=lambda path: path.name):
            taken = ingest(path, inbox, store, home, NOW)
            assert not isinstance(taken, Rejection), taken
            advance(store, taken.sha256, shop)
        assert unfinished(store, shop) == []
        return _drafts(store, shop)
    finally:
        store.close()


def _drafts(store: Store, shop: Workshop) -> dict[str, bytes]:
    """The drafts as kept; drawing them up again must give the same."""
    found = {}
    for row in store.inspections():
        kept = _bytes(store.draft(row.id))
        assert _bytes(redraft(store, row.id, shop)) == kept, (
            f"inspection {row.id} is another when drawn up again"
        )
        found[f"{row.unit} {row.started_at.isoformat()}"] = kept
    return found


def _bytes(record: object) -> bytes:
    return json.dumps(record.to_json(), sort_keys=True).encode()  # type: ignore[attr-defined]


def replayed(base: Path, inspections: int) -> int:
    """Two runs compared; returns how many records were the same.

    Raises:
        AssertionError: one differs.
    """
    first, second = (records(base / str(run), inspections) for run in (1, 2))
    assert len(first) == inspections
    assert first == second
    return len(first)


def main() -> None:
    """Replay and say so."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--inspections", type=int, default=1000)
    asked = words.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        count = replayed(Path(folder), asked.inspections)
        print(f"{count} inspections twice: equal byte for byte ({time.monotonic() - began:.0f} s)")


if __name__ == "__main__":
    main()
