"""The order of work: what happens to a capture, from the inbox to the draft."""

import logging
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from capture.identity import printable_name
from capture.ingest import scan
from capture.media import UnreadableMedia, probe
from models.capture import Capture
from models.record import Record
from models.store import InspectionRow, Store
from models.trace import tracing
from pipelines.deadline import StageFailed
from pipelines.draw_up import Material, draw_up
from pipelines.grouping import home_of, inspection_id
from pipelines.operations.measuring import STAGES_FAILED, Measured, count_findings
from pipelines.stages import display_of, is_done, notes_of, texts_of
from pipelines.workshop import Artefacts, Workshop

Progress = Callable[[str], None]
_MOST_TRIES = 50
_log = logging.getLogger("droplight.order")


def _add(
    material: Material, capture: Capture, kept: Artefacts, shop: Workshop, path: Path | None = None
) -> None:
    """Run the stages of one capture; what cannot be done becomes a notice, and the next try does it again.

    Without a path it is the original that is kept.
    """
    kept = Measured(kept, capture)

    def find() -> Path:
        return path or shop.originals.path(capture.sha256)

    try:
        if capture.kind == "audio":
            material.notes.append(notes_of(capture, find, kept, shop))
        else:
            display = display_of(capture, find, kept, shop)
            material.displays.append(display)
            material.texts[capture.sha256] = texts_of(capture, find, kept, shop, display)
    except StageFailed as error:
        STAGES_FAILED.inc()
        material.notices.append(str(error))
        _log.warning("%s", error)
    except UnreadableMedia as error:
        material.notices.append(f"{error} The file is kept.")


def advance(store: Store, sha256: str, shop: Workshop) -> str | None:
    """Do everything that is still missing for one capture; doing it again changes nothing.

    Args:
        store: the state.
        sha256: of the capture.
        shop: the tools.

    Returns:
        The inspection it belongs to, or None when it waits in the tray.
    """
    with tracing(sha256):
        return _advance(store, sha256, shop)


def _advance(store: Store, sha256: str, shop: Workshop) -> str | None:
    capture = store.capture(sha256)
    if capture is None:
        raise LookupError(f"no capture {sha256}")
    material = Material([capture])
    _add(material, capture, store, shop)
    inspection = store.inspection_of(sha256)
    if inspection is None:
        unit = next((n.unit for n in material.notes if n.unit), None)
        inspection = store.settle(sha256, lambda rows: home_of(capture, unit, rows), capture.folder)
        if inspection is None:
            return None
        for other in _gather_waiting(store) - {inspection}:
            redraft(store, other, shop)
    count_findings(redraft(store, inspection, shop, done=material), sha256)
    return inspection


def _gather_waiting(store: Store) -> set[str]:
    """Captures from the tray go to inspections that are near in time now; returns these inspections.

    Those that were not read yet are left: they have their own turn, perhaps with another worker just now.
    """
    homes = {store.settle(c.sha256, partial(_found_home, c), c.folder) for c in store.unassigned(read=True)}
    return {home for home in homes if home is not None}


def _found_home(capture: Capture, rows: Sequence[InspectionRow]) -> InspectionRow | None:
    row = home_of(capture, None, rows)
    return row if row in rows else None


def _signed_of(store: Store, unit: str) -> list[Record]:
    """The signed records of a truck."""
    rows = [r for r in store.inspections() if r.state == "signed"]
    signed = [store.signed(r.id) for r in rows if r.unit and r.unit.upper() == unit.upper()]
    return [record for record in signed if record is not None]


def redraft(store: Store, inspection: str, shop: Workshop, done: Material | None = None) -> Record | None:
    """Draw the draft of an inspection up again from its captures; a signed one stays as it is.

    Args:
        store: the state.
        inspection: its id.
        shop: the tools.
        done: captures that were just worked on: what failed is not tried a second time.
    """
    done = done or Material([])
    for _ in range(_MOST_TRIES):
        row = store.inspection(inspection)
        if row is None or row.state != "open":
            return None
        material = _material(store, inspection, shop, done)
        record = draw_up(inspection, row.unit, material, shop, lambda unit: _signed_of(store, unit))
        if store.put_draft(inspection, record, [c.sha256 for c in material.captures]):
            if row.unit is None and record.inspection.unit is not None:
                store.name_unit(inspection, record.inspection.unit)
            return record
        # Another worker put a capture into it meanwhile: once more, with that one.
    raise StageFailed(f"Inspection {inspection} changes faster than it can be drafted. Its files are kept.")


def _material(store: Store, inspection: str, shop: Workshop, done: Material) -> Material:
    material = Material(
        store.captures(inspection), [*done.notes], [*done.displays], [*done.notices], dict(done.texts)
    )
    known = {c.sha256 for c in done.captures}
    for capture in material.captures:
        if capture.sha256 not in known:
            _add(material, capture, store, shop)
    return material


def unfinished(store: Store, shop: Workshop) -> list[str]:
    """Captures of open inspections and of the tray that lack a stage or their draft, oldest first."""
    # The tray first: what leaves it meanwhile is met again in its inspection.
    missing = {c.sha256: c for c in store.unassigned() if not is_done(c, store, shop)}
    for row in store.inspections():
        if row.state != "open":
            continue
        draft = store.draft(row.id)
        drafted = {c.sha256 for c in draft.captures} if draft else set()
        for capture in store.captures(row.id):
            if capture.sha256 not in drafted or not is_done(capture, store, shop):
                missing[capture.sha256] = capture
    return sorted(missing, key=lambda sha256: (missing[sha256].captured_at, sha256))


def draft_folder(inbox: Path, kept: Artefacts, shop: Workshop, progress: Progress) -> Record:
    """One folder as one inspection, read where it lies; nothing in it is moved or changed.

    Args:
        inbox: a folder with audio files and photos.
        kept: where products of the stages are kept, so that a second time is quick.
        shop: the tools.
        progress: told the name of every file before it is worked on.

    Raises:
        ValueError: there is nothing in the folder that can be read.
    """
    material = Material([])
    paths: dict[str, Path] = {}
    for path in scan(inbox):
        name = printable_name(path.name)
        progress(name)
        try:
            capture = probe(path, path.parent.name if path.parent != inbox else "")
        except UnreadableMedia as error:
            material.notices.append(str(error))
            continue
        if capture.sha256 in paths:
            material.notices.append(
                f"{name} is the same as {printable_name(paths[capture.sha256].name)}: counted once."
            )
            continue
        paths[capture.sha256] = path
        material.captures.append(capture)
        _add(material, capture, kept, shop, path)
    if not material.captures:
        why = " ".join(material.notices) or "It holds no audio file and no photo."
        raise ValueError(f"Nothing could be read in {inbox}. {why}")
    return draw_up(inspection_id(*sorted(paths)), None, material, shop)
