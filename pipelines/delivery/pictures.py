"""Pictures for the report, cut from the originals."""

import tempfile
from pathlib import Path

from capture.media import UnreadableMedia, write_review_photo
from capture.originals import Originals
from models.record import Evidence, Record
from pipelines.delivery.report import Crop

_LARGEST = 900


def _round(box: tuple[int, int, int, int], width: int, height: int) -> tuple[int, int, int, int] | None:
    x, y, wide, high = box
    margin = max(high, 40)
    left, top = max(x - margin, 0), max(y - margin, 0)
    right, bottom = min(x + wide + margin, width), min(y + high + margin, height)
    return (left, top, right - left, bottom - top) if right > left and bottom > top else None


def cropping(record: Record, originals: Originals) -> Crop:
    """Cuts what a piece of evidence shows out of its original: the digits with their surroundings.

    Args:
        record: names the captures and their sizes.
        originals: where the originals are kept.
    """
    sizes = {c.sha256: (c.width or 0, c.height or 0) for c in record.captures}

    def crop(evidence: Evidence) -> bytes | None:
        width, height = sizes.get(evidence.capture, (0, 0))
        box = _round(evidence.box, width, height) if evidence.box else None
        with tempfile.TemporaryDirectory() as folder:
            target = Path(folder) / "crop.jpg"
            try:
                write_review_photo(originals.path(evidence.capture), target, _LARGEST, box)
            except (OSError, UnreadableMedia):
                return None
            return target.read_bytes()

    return crop
