"""One person's voice: given out on request, and removed on request."""

import json
import shutil
from datetime import datetime
from pathlib import Path

from capture.originals import Originals
from models.capture import Capture
from models.frozen import Frozen
from models.store import Store
from pipelines.operations.retention import remove_original

WHY = "It was removed because the person who speaks in it asked for that."


class Forgotten(Frozen):
    """What was done.

    Attributes:
        removed: recordings whose sound is gone now.
        unsigned: recordings that stay because their inspection is not signed yet.
    """

    removed: tuple[Capture, ...]
    unsigned: tuple[Capture, ...]


def export_voice(store: Store, originals: Originals, person: str, folder: Path) -> int:
    """Give out what is kept of a person's voice: the recordings, what was heard in them, and a list.

    Args:
        store: the state.
        originals: where originals are kept.
        person: as it was noted.
        folder: made when missing.

    Returns:
        How many recordings there are, those included whose sound was removed before.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    lines = []
    for capture in store.keeping.recordings_of(person):
        removal = store.keeping.removal(capture.sha256)
        line: dict[str, object] = json.loads(capture.model_dump_json())
        line["inspection"] = store.inspection_of(capture.sha256)
        line["heard"] = store.keeping.transcripts(capture.sha256)
        if removal is None:
            kept = originals.path(capture.sha256)
            line["file"] = f"{capture.sha256[:12]}{kept.suffix}"
            shutil.copyfile(kept, folder / str(line["file"]))
        else:
            line["removed"] = {"at": removal.at.isoformat(), "why": removal.why}
        lines.append(line)
    text = json.dumps({"person": person, "recordings": lines}, ensure_ascii=False, indent=1)
    (folder / "recordings.json").write_text(text + "\n", encoding="utf-8")
    return len(lines)


def forget_voice(
    store: Store, originals: Originals, home: Path, person: str, now: datetime, unsigned_too: bool = False
) -> Forgotten:
    """Remove the sound of a person's recordings and what was heard in them; signed records stay as signed.

    A record keeps the hash of each recording and the words it cites; wherever the sound would be played, the
    pages say that it was removed. Recordings of an inspection that is not signed are left, because nobody
    could check its values any more, unless that is asked for.

    Args:
        store: the state.
        originals: where originals are kept.
        home: the data folder.
        person: as it was noted.
        now: the time.
        unsigned_too: also of inspections that are not signed; what was heard stays until they are.
    """
    removed, left = [], []
    for capture in store.keeping.recordings_of(person):
        inspection = store.inspection_of(capture.sha256)
        row = store.inspection(inspection) if inspection else None
        signed = row is not None and row.state == "signed"
        if not signed and not unsigned_too:
            left.append(capture)
            continue
        if store.keeping.removal(capture.sha256) is None:
            removed.append(capture)
        remove_original(store, originals, home, capture.sha256, WHY, now)
        if signed:
            store.keeping.forget_transcript(capture.sha256)
    return Forgotten(removed=tuple(removed), unsigned=tuple(left))
