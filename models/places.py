"""Where on a truck a finding was made."""

from typing import Literal

from models.frozen import Frozen

Side = Literal["left", "right"]
Axle = Literal["front", "rear", "axle_1", "axle_2", "axle_3", "axle_4", "axle_5"]
Level = Literal["upper", "lower"]
Face = Literal["inner", "outer"]

AXES = ("side", "axle", "level", "face", "spot", "index")
TREAD_SPOTS = ("inside", "middle", "outside")


class Position(Frozen):
    """A place on the truck. Left and right are as seen from the driver's seat.

    Attributes:
        side: left or right.
        axle: front or rear, or ``axle_1`` to ``axle_5`` where there are more than two.
        level: upper or lower.
        face: inner or outer (pads, tie rod ends, seals).
        spot: inside, middle, outside across a tread; ``point_1`` to ``point_12`` round a rotor.
        index: frame diagonals only: 1 is left-front to right-rear, 2 the other.
    """

    side: Side | None = None
    axle: Axle | None = None
    level: Level | None = None
    face: Face | None = None
    spot: str | None = None
    index: Literal[1, 2] | None = None

    def keys(self) -> dict[str, str | int]:
        """The axes that are known, in the order of the record format."""
        return {axis: getattr(self, axis) for axis in AXES if getattr(self, axis) is not None}

    def with_keys(self, **keys: str | int | None) -> "Position":
        """A copy with the given axes replaced; checked like a new one."""
        return Position.model_validate({**self.model_dump(), **keys})

    def words(self) -> str:
        """The place in plain words: ``left front outer``; empty when nothing is known."""
        if self.index is not None:
            return "left front to right rear" if self.index == 1 else "right front to left rear"
        return " ".join(str(value).replace("_", " ") for value in self.keys().values())

    def of(self, part: str) -> str:
        """A part at this place, in plain words: ``left front outer brake pad``.

        A spot on it stands behind it: ``left rear inside tire`` could be the inner one of two.
        """
        spot = f", {self.spot.replace('_', ' ')}" if self.spot else ""
        return f"{self.with_keys(spot=None).words()} {part}{spot}".strip()
