"""How a drawn gauge face looks."""

from dataclasses import dataclass, field
from typing import Literal

from pipelines.displays.training.glyphs import DigitShape

Colour = tuple[float, float, float]
UnitPlace = Literal[
    "right_low",
    "right_middle",
    "right_high",
    "above",
    "over_last",
    "below",
    "case_right",
    "case_below",
    "case_above",
]


@dataclass(frozen=True)
class Patch:
    """A soft round patch of the window: middle and radii as shares of its size, and the ink lost there."""

    x: float
    y: float
    across: float
    down: float
    lost: float


IconKind = Literal["ring", "disc", "arrow", "battery", "ticks"]


@dataclass(frozen=True)
class Icon:
    """A small sign in the window: its middle as shares of the window, its height in digit heights."""

    kind: IconKind
    x: float
    y: float
    size: float


@dataclass(frozen=True)
class PanelStyle:
    """How a gauge face looks. Lengths are shares of the digit height, colours are RGB from 0 to 255.

    Attributes:
        shape: cut of the segments.
        ink: colour of a lit segment.
        ground: colour of the window.
        case: colour of the case round the window.
        strength: opacity of a lit segment.
        ghost: opacity of an unlit segment.
        fade: share of its ink that a line loses towards its right end (below 0: its left end), as when looked
            at from the side.
        washed: patches of the window in which ink pales, as where something bright is mirrored in the glass.
        backlight: how much brighter the window is at its lit side than at the other (below 0: right side).
        glow: light that a segment throws round itself (LED).
        glow_reach: how far.
        burnt: how white the middle of a segment that gives light comes out, its edge keeping the colour.
        shadow: where the shadow of the ink falls on the reflector behind it, and its opacity.
        uneven: the shares of their ink that digits show, repeated from the left; empty for the whole.
        weak: the segment that shows least of its ink in every digit, and the share it shows.
        pitch: free space between two digits.
        point: height of the decimal point.
        point_wide: its width as a share of its height.
        point_shift: where it stands between two digits: -1 touches the left one, 1 the right one.
        point_cell: extra space that a digit with a point takes.
        round_point: round or square point.
        cells: digit places of the display; unused ones stand on the left.
        left_aligned: unused places stand on the right instead.
        minus_far: a minus sign stands at the far left edge instead of beside the first digit.
        last_digit: height of the last digit compared with the others.
        last_raised: a smaller last digit stands level with the tops of the others, not with their feet.
        unit_place: where the unit stands.
        unit_height: height of the unit's letters.
        font: one of ``lettering.fonts()``.
        dim_units: other units that are printed but not lit.
        icons: small signs inside the window, left out where they would touch the digits.
        window_words: small words inside the window.
        case_words: small words on the case.
        window_margin: free space round the digits inside the window (left, top, right, bottom).
        case_margin: width of the case round the window.
        second: text of a second line under the first.
        second_height: its digit height.
        second_gap: free space between both lines.
    """

    shape: DigitShape = field(default_factory=DigitShape)
    ink: Colour = (30, 32, 30)
    ground: Colour = (172, 180, 160)
    case: Colour = (40, 42, 46)
    strength: float = 0.95
    ghost: float = 0.05
    fade: float = 0.0
    washed: tuple[Patch, ...] = ()
    backlight: float = 0.0
    glow: float = 0.0
    glow_reach: float = 0.09
    burnt: float = 0.0
    shadow: tuple[float, float, float] = (0.0, 0.0, 0.0)
    uneven: tuple[float, ...] = ()
    weak: tuple[str, float] = ("", 1.0)
    pitch: float = 0.2
    point: float = 0.13
    point_wide: float = 1.0
    point_shift: float = 0.0
    point_cell: float = 0.0
    round_point: bool = False
    cells: int = 4
    left_aligned: bool = False
    minus_far: bool = False
    last_digit: float = 1.0
    last_raised: bool = False
    unit_place: UnitPlace = "right_low"
    unit_height: float = 0.32
    font: str = "strokes:0"
    dim_units: tuple[str, ...] = ()
    icons: tuple[Icon, ...] = ()
    window_words: tuple[str, ...] = ()
    case_words: tuple[str, ...] = ()
    window_margin: tuple[float, float, float, float] = (0.4, 0.3, 0.4, 0.3)
    case_margin: float = 0.5
    second: str = ""
    second_height: float = 0.6
    second_gap: float = 0.25
