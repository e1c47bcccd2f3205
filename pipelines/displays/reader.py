"""From a photo to the reading of its display: the order of work of this stage."""

from decimal import Decimal

import numpy as np

from models.display import Box, DisplayAlternative, DisplayReading
from pipelines.displays import quality
from pipelines.displays.choosing import Choice, choose
from pipelines.displays.locate import Group, find
from pipelines.displays.straighten import Image, Photo, Quad
from pipelines.displays.strips import drawn_in
from pipelines.displays.units_seen import read_unit
from pipelines.displays.voting import (
    DOUBTFUL,
    LEAST,
    STEADY,
    SURE,
    Vote,
    cut_end,
    first_one_in_doubt,
    number,
    overload,
    perhaps_cut,
)

# The weight of another line of the same display, and the confidence where the main one could not be read.
_OTHER_LINE = 0.05
_LINE_MISSED = 0.5
# From how sure a window on a photo without digits counts as a display that is off.
_WINDOW = 0.6


def _checked(image: Image) -> Image:
    if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8:
        raise ValueError(f"a photo must be RGB, 8 bits a channel, not {image.dtype} of shape {image.shape}")
    return image


def _box(quad: Quad, size: tuple[int, int]) -> Box:
    h, w = size
    x0, y0 = np.clip(np.floor(quad.min(axis=0)), 0, (w - 1, h - 1)).astype(int)
    x1, y1 = np.clip(np.ceil(quad.max(axis=0)), (x0 + 1, y0 + 1), (w, h)).astype(int)
    return int(x0), int(y0), int(x1 - x0), int(y1 - y0)


def _alternatives(vote: Vote) -> tuple[DisplayAlternative, ...]:
    pairs = [(text, weight) for text, weight in vote.others if number(text) is not None and weight >= 0.01]
    return tuple(DisplayAlternative(text=text, weight=min(round(weight, 4), 1.0)) for text, weight in pairs)


def _beside(choice: Choice) -> tuple[DisplayAlternative, ...]:
    """What else the photo shows: other displays with a share of their own, other lines with a small one."""
    share = 1 / (1 + len(choice.rivals))
    rivals = [
        DisplayAlternative(text=r.vote.text, weight=round(r.vote.confidence * share, 4))
        for r in choice.rivals
    ]
    lines = [DisplayAlternative(text=r.vote.text, weight=_OTHER_LINE) for r in choice.lines]
    return (*rivals, *lines)


def _doubt(choice: Choice, close: str | None) -> str | None:
    """Why the reading is a question although its digits may be clear."""
    vote = choice.main.vote
    if choice.rivals:
        return quality.several([vote.text, *(r.vote.text for r in choice.rivals)])
    if choice.missed:
        return quality.OTHER_UNCLEAR
    doubts = [] if close is None else [quality.close_sentence(close)]
    if vote.confidence < SURE:
        unsure = quality.why_unsure(vote.marks, vote.point_doubted())
        doubts.insert(0, quality.FIRST_ONE if first_one_in_doubt(vote) else unsure)
    return " ".join(doubts) or None


def _confidence(choice: Choice, close: str | None) -> float:
    """The chance that this is the number that was meant."""
    confidence = choice.main.vote.confidence / (1 + len(choice.rivals))
    if close is not None:
        confidence = min(confidence, DOUBTFUL)
    return min(confidence, _LINE_MISSED) if choice.missed else confidence


def _cut_edge(photo: Photo, quad: Quad) -> str | None:
    """The edge of the photo that cuts digits off; None when they are whole.

    The locator may take what lies beyond the digits for one more.
    """
    edge = quality.cut_edge(quad, photo.size)
    if edge in ("left", "right"):
        seen = drawn_in(photo, quad)
        if quality.cut_edge(seen, photo.size) is None and quality.close_edge(seen, photo.size) is None:
            return None
    return edge


def _without(capture: str, reason: str, box: Box | None = None, vote: Vote | None = None) -> DisplayReading:
    """No reading; what was nearly read stays as alternatives."""
    nearly: tuple[DisplayAlternative, ...] = ()
    if vote is not None:
        first = DisplayAlternative(text=vote.text, weight=round(vote.confidence, 4))
        nearly = (*((first,) if number(vote.text) is not None else ()), *_alternatives(vote))
    return DisplayReading(capture=capture, box=box, alternatives=nearly, reason=reason)


def _refusal(group: Group, vote: Vote, strip: Image) -> str | None:
    """Why nothing is read: glare hides an end, the readers guess, or they waver over a bad picture."""
    burnt = quality.glare(strip)
    if burnt is not None and (end := perhaps_cut(vote)) is not None and _at(end, burnt):
        return quality.hidden_sentence(end)
    if vote.confidence >= STEADY:
        return None
    visible = quality.cause(strip, group.quad, quality.weakest(vote.marks))
    if vote.confidence < LEAST:
        return visible or quality.NOTHING_CLEAR
    return visible


def _at(end: str, stretch: tuple[float, float]) -> bool:
    """Whether a stretch, as shares of the width, reaches into the half at one end."""
    return stretch[0] < 0.5 if end == "left" else stretch[1] > 0.5


def _meaning(vote: Vote) -> tuple[str, Decimal | None, str | None]:
    """Text in the usual spelling, value, and what to say of a text that is no number."""
    value = number(vote.text)
    if value is not None:
        return vote.text, value, None
    mark = overload(vote.text)
    if mark is not None:
        return (
            mark,
            None,
            f"The gauge shows {mark} instead of a value: check range and leads, and measure again.",
        )
    end = cut_end(vote.text)
    if end is not None:
        return "", None, quality.hidden_sentence(end)
    if ":" in vote.text:
        return "", None, "The display shows a time, not a reading: change its mode and take the photo again."
    return (
        "",
        None,
        "The display shows no number: wait for the value and take the photo again.",
    )


def read_display(image: Image, capture: str) -> DisplayReading:
    """Read the gauge display of a photo.

    Args:
        image: uint8 RGB, upright, height x width x 3.
        capture: sha256 of the photo.

    Returns:
        The reading, or one without text whose ``reason`` says what to do.

    Raises:
        ValueError: the array is not an RGB picture of 8 bits.
    """
    size = (_checked(image).shape[0], image.shape[1])
    if min(size) < 16:
        return _without(
            capture, "The photo is too small to read: take it again with the usual camera settings."
        )
    photo = Photo(image)
    found = find(photo)
    choice = choose(photo, found)
    if choice is None:
        if found.window > _WINDOW:
            return _without(capture, quality.BLANK)
        return _without(capture, quality.NO_DISPLAY).model_copy(update={"display_seen": False})
    group, vote, strip = choice.main.group, choice.main.vote, choice.main.strip
    box = _box(group.quad, size)
    edge = _cut_edge(photo, group.quad)
    if edge is not None:
        return _without(capture, quality.cut_sentence(edge), box, vote)
    refusal = _refusal(group, vote, strip)
    if refusal is not None:
        return _without(capture, refusal, box, vote)
    text, value, remark = _meaning(vote)
    if not text:
        return _without(capture, remark or quality.NO_DISPLAY, box, vote)
    close = quality.close_edge(group.quad, size)
    return DisplayReading(
        capture=capture,
        text=text,
        value=value,
        unit=read_unit(photo, group.quad) if value is not None else None,
        box=box,
        digit_confidence=tuple(round(min(m, 1.0), 4) for m in vote.marks) if value is not None else (),
        confidence=round(_confidence(choice, close), 4),
        alternatives=(*_beside(choice), *_alternatives(vote)),
        reason=remark or _doubt(choice, close),
    )
