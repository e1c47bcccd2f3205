"""Ids of findings, made from what they come from."""

import uuid
from collections import Counter

from models.places import Position

_NAMESPACE = uuid.UUID("6f2c1a52-0d6e-5b8e-9a44-5a3d1f0c7b21")


class Names:
    """Ids that stay the same when the same captures are drafted again."""

    def __init__(self) -> None:
        self._seen: Counter[str] = Counter()

    def give(self, capture: str, kind: str, start_s: float, about: tuple[str, Position, str]) -> str:
        """An id for a finding.

        Args:
            capture: sha256 of the file it comes from.
            kind: audio or photo.
            start_s: where in the file it begins (seconds).
            about: component, position and measure.
        """
        component, position, measure = about
        place = ",".join(f"{k}={v}" for k, v in position.keys().items())
        base = "|".join((capture, kind, f"{start_s:.3f}", component, place, measure))
        self._seen[base] += 1
        return str(uuid.uuid5(_NAMESPACE, f"{base}|{self._seen[base]}"))
