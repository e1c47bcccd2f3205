"""One drawn gauge face, seen straight on: case, window, digits, units, small words."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from pipelines.displays.training.face import PanelStyle
from pipelines.displays.training.glyphs import Polygon, point_polygon, segment_polygons, sheared
from pipelines.displays.training.icons import draw_icons
from pipelines.displays.training.inks import compose, rounded
from pipelines.displays.training.lettering import Mask, word_mask

Rect = tuple[float, float, float, float]
Picture = NDArray[np.float32]

_SUBPIXEL = 4
# From here on a mask counts as ink.
_INK = 40


@dataclass(frozen=True)
class UnitMark:
    """A unit on the panel: the word, where it stands (left, top, right, bottom), and whether it is lit."""

    word: str
    rect: Rect
    lit: bool


@dataclass(frozen=True)
class CellMark:
    """A place of the main line: what it says with its point or colon, and the edges of its ink in pixels."""

    says: str
    left: float
    right: float


@dataclass(frozen=True)
class Panel:
    """A drawn face with what is where, in its own pixels.

    Attributes:
        picture: RGB, float32 0 to 255.
        cover: 0 to 1, where the case is (its corners are round).
        digits: rectangle of the main digits' ink; None when nothing is lit.
        second: rectangle of the second line's ink, or None.
        window: rectangle of the window.
        units: every unit drawn.
        digit_height: height of the main digits.
        cells: the lit places of the main line from left to right.
        second_text: what the second line shows.
    """

    picture: Picture
    cover: Picture
    digits: Rect | None
    second: Rect | None
    window: Rect
    units: tuple[UnitMark, ...]
    digit_height: float
    cells: tuple[CellMark, ...] = ()
    second_text: str = ""


@dataclass(frozen=True)
class _Cell:
    char: str
    x: float
    scale: float
    point: bool
    colon: bool


@dataclass
class _Line:
    cells: list[_Cell]
    width: float
    point_room: float


def _slots(text: str) -> list[tuple[str, bool, bool]]:
    """Characters with the point and colon that follow them."""
    out: list[tuple[str, bool, bool]] = []
    for char in text:
        if char in ".:":
            if not out:
                out.append((" ", False, False))
            before = out[-1]
            out[-1] = (before[0], before[1] or char == ".", before[2] or char == ":")
        else:
            out.append((char, False, False))
    return out


def _lay_out(text: str, style: PanelStyle) -> _Line:
    """Cells of one line in units of the digit height."""
    slots = _slots(text)
    minus = bool(slots) and slots[0][0] == "-" and len(slots) > 1
    body = slots[1:] if minus else slots
    empty = [(" ", False, False)] * max(0, style.cells - len(body))
    body = body + empty if style.left_aligned else empty + body
    if minus and (style.minus_far or style.left_aligned):
        body = [slots[0], *body]
    elif minus:
        first = next(i for i, slot in enumerate(body) if slot[0] != " " or slot[1])
        body = [*body[:first], slots[0], *body[first:]]
    cells, x = [], 0.0
    for i, (char, point, colon) in enumerate(body):
        scale = style.last_digit if i == len(body) - 1 else 1.0
        cells.append(_Cell(char, x, scale, point, colon))
        x += style.shape.width * scale + style.pitch + (style.point_cell if point or colon else 0.0)
    return _Line(cells, x, style.pitch + style.point_cell)


def _fill(mask: Mask, polygon: Polygon, value: int = 255) -> None:
    points = np.round(polygon * (1 << _SUBPIXEL)).astype(np.int32)
    cv2.fillPoly(mask, [points], value, cv2.LINE_AA, _SUBPIXEL)


def _draw_line(
    line: _Line, style: PanelStyle, height: float, corner: tuple[float, float], masks: tuple[Mask, Mask]
) -> tuple[CellMark, ...]:
    """Lit segments into the first mask, unlit ones into the second; returns the lit places."""
    lit_mask, ghost_mask = masks
    polygons = {n: sheared(p, style.shape.slant) for n, p in segment_polygons(style.shape).items()}
    marks: list[CellMark] = []
    for cell in line.cells:
        size = height * cell.scale
        drop = 0.0 if style.last_raised else height * (1 - cell.scale)
        foot = np.array([corner[0] + cell.x * height, corner[1] + drop])
        on = [name for name in polygons if name[0] in style.shape.lit(cell.char)]
        share = style.uneven[len(marks) % len(style.uneven)] if style.uneven else 1.0
        for name, polygon in polygons.items():
            ink = share * (style.weak[1] if name[0] == style.weak[0] else 1.0)
            mask, value = (lit_mask, round(255 * ink)) if name in on else (ghost_mask, 255)
            _fill(mask, polygon * size + foot, value)
        _draw_points(cell, style, height, corner, masks)
        says = cell.char.strip() + "." * cell.point + ":" * cell.colon
        if says:
            reach = [polygons[name][:, 0] for name in on] or [np.array([style.shape.width])]
            ink = np.concatenate(reach) * size + foot[0]
            marks.append(CellMark(says, float(ink.min()), float(ink.max())))
    return tuple(marks)


def _draw_points(
    cell: _Cell, style: PanelStyle, height: float, corner: tuple[float, float], masks: tuple[Mask, Mask]
) -> None:
    """The decimal point or colon after a digit, or the unlit point."""
    lit_mask, ghost_mask = masks
    slant, wide = style.shape.slant, style.point * style.point_wide
    dot = point_polygon(style.point, style.round_point) * (style.point_wide, 1.0)
    room = style.pitch + (style.point_cell if cell.point or cell.colon else 0.0)
    free = room - wide
    x = cell.x + style.shape.width * cell.scale + free / 2 * (1 + style.point_shift)
    place = np.array([corner[0] + (x - slant * style.point / 2) * height, corner[1]])
    if style.pitch + style.point_cell > wide * 0.9:
        _fill(lit_mask if cell.point else ghost_mask, sheared(dot, slant) * height + place)
    elif cell.point:
        _fill(lit_mask, dot * height + place)
    if cell.colon:
        for level in (0.3, 0.7):
            lifted = dot - (0, 1 - level)
            _fill(lit_mask, sheared(lifted, slant) * height + place)


def _ink_rect(mask: Mask, top: float, height: float) -> Rect | None:
    columns = np.flatnonzero(mask.max(axis=0) > _INK)
    if not len(columns):
        return None
    return (float(columns[0]), top, float(columns[-1] + 1), top + height)


def _place_word(mask: Mask, word: str, font: str, height: float, at: tuple[float, float]) -> Rect | None:
    """Write a word with its lower left corner at a point; None when it does not fit."""
    letters = word_mask(word, font, height)
    h, w = letters.shape
    x, y = round(at[0]), round(at[1]) - h
    if x < 0 or y < 0 or x + w > mask.shape[1] or y + h > mask.shape[0]:
        return None
    region = mask[y : y + h, x : x + w]
    np.maximum(region, letters, out=region)
    return (x, y, x + w, y + h)


@dataclass
class _Sheet:
    """The canvas while a panel is drawn."""

    size: tuple[int, int]
    window: Rect
    line: tuple[float, float]
    unit_room: float


def _measure(style: PanelStyle, line: _Line, second: _Line | None, unit: str, height: float) -> _Sheet:
    left, top, right, bottom = (m * height for m in style.window_margin)
    unit_height = style.unit_height * height
    width = line.width * height
    if second is not None:
        width = max(width, second.width * height * style.second_height)
    inside_right = style.unit_place.startswith("right") and unit
    unit_room = word_mask(unit, style.font, unit_height).shape[1] + 0.2 * height if unit else 0.0
    row = unit_height * 1.3
    inner_w = left + width + (unit_room if inside_right else 0) + right + style.shape.slant * height
    inner_h = top + height + bottom
    inner_h += row if style.unit_place in ("above", "below") else 0
    inner_h += row if style.window_words else 0
    inner_h += height * (style.second_height + style.second_gap + 0.05) if second is not None else 0
    edge = style.case_margin * height
    case_right = edge + (unit_room + 0.2 * height if style.unit_place == "case_right" and unit else 0)
    above = edge + (row if style.unit_place == "case_above" else 0)
    below = edge + (row if style.unit_place == "case_below" or style.case_words else 0)
    window = (edge, above, edge + inner_w, above + inner_h)
    head = top + (row if style.unit_place == "above" else 0) + (row if style.window_words else 0)
    size = (round(above + inner_h + below), round(edge + inner_w + case_right))
    return _Sheet(size, window, (edge + left, above + head), unit_room)


def _unit_foot(
    style: PanelStyle, sheet: _Sheet, width: float, height: float, unit_width: float
) -> tuple[float, float]:
    """Lower left corner of the unit's letters."""
    _, y0, x1, y1 = sheet.window
    x, y = sheet.line
    beside = x + width + 0.12 * height
    letters = style.unit_height * height
    return {
        "right_low": (beside, y + height),
        "right_middle": (beside, y + (height + letters) / 2),
        "right_high": (beside, y + letters * 1.2),
        "above": (x1 - unit_width - 0.3 * height, y - 0.12 * height),
        "over_last": (
            x + width - (style.shape.width * style.last_digit + style.pitch) * height,
            y + height * (1 - style.last_digit) * 0.9,
        ),
        "below": (x1 - unit_width - 0.3 * height, y1 - 0.1 * height),
        "case_right": (x1 + 0.15 * height, y + height),
        "case_below": (x1 - unit_width, y1 + letters * 1.35),
        "case_above": (x1 - unit_width, y0 - letters * 0.3),
    }[style.unit_place]


def _small_words(
    words: tuple[str, ...], font: str, mask: Mask, at: tuple[float, float], letters: float, end: float
) -> None:
    x, y = at
    for word in words:
        if x > end:
            return
        rect = _place_word(mask, word, font, letters, (x, y))
        x = (rect[2] if rect else x) + letters * 1.2


def draw_panel(text: str, unit: str, style: PanelStyle, digit_px: float = 64.0) -> Panel:
    """Draw a gauge face.

    Args:
        text: characters to show: those of ``glyphs.SEGMENTS``, ``.`` and ``:``; empty for a blank display.
        unit: the word of the unit, or empty.
        style: how it looks.
        digit_px: height of a digit in pixels.
    """
    height = digit_px
    line = _lay_out(text, style)
    second = _lay_out(style.second, style) if style.second else None
    sheet = _measure(style, line, second, unit, height)
    h, w = sheet.size
    lit, ghost, other, printed = (np.zeros((h, w), np.uint8) for _ in range(4))
    x, y = sheet.line
    cells = _draw_line(line, style, height, (x, y), (lit, ghost))
    digits = _ink_rect(lit, y, height) if text.strip() else None
    second_rect = None
    if second is not None:
        extra = np.zeros((h, w), np.uint8)
        below = height * style.second_height
        corner = (x + (line.width * height - second.width * below), y + height * (1 + style.second_gap))
        _draw_line(second, style, below, corner, (extra, ghost))
        second_rect = _ink_rect(extra, corner[1], below)
        np.maximum(lit, extra, out=lit)
    marks = _draw_units(unit, style, sheet, line.width * height, height, (lit, other, printed))
    taken = [r for r in (digits, second_rect, *(mark.rect for mark in marks)) if r is not None]
    draw_icons(style.icons, lit, sheet.window, height, tuple(taken))
    letters = 0.2 * height
    x0, _, x1, y1 = sheet.window
    _small_words(
        style.window_words, style.font, lit, (x0 + 0.2 * height, y - 0.12 * height), letters, x1 - height
    )
    case_foot = (x0, y1 + max(letters * 1.5, style.case_margin * height * 0.7))
    _small_words(style.case_words, style.font, printed, case_foot, letters, x1 - height)
    picture = compose(style, sheet.window, height, (lit, ghost, other, printed))
    cover = rounded((h, w))
    return Panel(
        picture,
        cover,
        digits,
        second_rect,
        sheet.window,
        marks,
        height,
        cells,
        style.second,
    )


def _draw_units(
    unit: str, style: PanelStyle, sheet: _Sheet, width: float, height: float, masks: tuple[Mask, Mask, Mask]
) -> tuple[UnitMark, ...]:
    """The lit unit and the dim ones round it; into the masks of lit, dim and printed ink."""
    lit, dim, printed = masks
    letters = style.unit_height * height
    marks: list[UnitMark] = []
    if unit:
        foot = _unit_foot(style, sheet, width, height, word_mask(unit, style.font, letters).shape[1])
        target = printed if style.unit_place.startswith("case") else lit
        rect = _place_word(target, unit, style.font, letters, foot)
        if rect is not None:
            marks.append(UnitMark(unit, rect, True))
        step = -1.45 if style.unit_place == "right_low" else 1.45
        for i, word in enumerate(style.dim_units, start=1):
            if not style.unit_place.startswith("right"):
                break
            rect = _place_word(dim, word, style.font, letters, (foot[0], foot[1] + step * i * letters))
            if rect is not None:
                marks.append(UnitMark(word, rect, False))
    return tuple(marks)
