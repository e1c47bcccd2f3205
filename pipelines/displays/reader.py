"""From a photo to the reading of its display: the order of work of this stage."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from models.display import Box, DisplayAlternative, DisplayReading
from pipelines.displays import quality
from pipelines.displays.decoding import Heard, most_agreed
from pipelines.displays.locate import Found, Group, find, whole_strip
from pipelines.displays.segments import read_segments
from pipelines.displays.straighten import Image, Quad
from pipelines.displays.strips import far_looks, trials
from pipelines.displays.units_seen import read_unit
from pipelines.displays.voting import LEAST, SURE, Vote, join, number, overload, with_far_minus


def _checked(image: Image) -> Image:
    if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8:
        raise ValueError(f"a photo must be RGB, 8 bits a channel, not {image.dtype} of shape {image.shape}")
    return image


def _box(quad: Quad, size: tuple[int, int]) -> Box:
    h, w = size
    x0, y0 = np.clip(np.floor(quad.min(axis=0)), 0, (w - 1, h - 1)).astype(int)
    x1, y1 = np.clip(np.ceil(quad.max(axis=0)), (x0 + 1, y0 + 1), (w, h)).astype(int)
    return int(x0), int(y0), int(x1 - x0), int(y1 - y0)


@dataclass(frozen=True)
class _Chosen:
    """A group with what was read on it."""

    group: Group
    vote: Vote
    strip: Image
    heard: list[Heard]


def _read_group(image: Image, group: Group, before: list[Heard] | None = None) -> _Chosen:
    """Read one group; ``before`` are trials of the same digits that count as well."""
    heard, strip = trials(image, group.quad)
    heard = heard + (before or [])
    joint = heard[0] if len(heard) == 1 else most_agreed(heard)
    vote = join(joint, read_segments(image, group.quad))
    if vote.confidence >= LEAST:
        vote = with_far_minus(vote, far_looks(image, group.quad))
    return _Chosen(group, vote, strip, heard)


def _chosen(image: Image, found: Found) -> _Chosen | None:
    """The first group that shows something; a group that shows nothing gives way to the next."""
    best: _Chosen | None = None
    for group in found.groups:
        read = _read_group(image, group)
        if read.vote.text and (best is None or read.vote.confidence >= LEAST):
            best = read
        if read.vote.text and read.vote.confidence >= LEAST:
            break
    whole = whole_strip(image)
    if whole is not None and (best is None or best.vote.confidence < SURE):
        read = _read_group(image, whole, best.heard if best else None)
        best = read if read.vote.text else best
    return best


def _alternatives(vote: Vote) -> tuple[DisplayAlternative, ...]:
    pairs = [(text, weight) for text, weight in vote.others if number(text) is not None and weight >= 0.01]
    return tuple(DisplayAlternative(text=text, weight=min(round(weight, 4), 1.0)) for text, weight in pairs)


def _without(capture: str, reason: str, box: Box | None = None, vote: Vote | None = None) -> DisplayReading:
    """No reading; what was nearly read stays as alternatives."""
    nearly: tuple[DisplayAlternative, ...] = ()
    if vote is not None:
        first = DisplayAlternative(text=vote.text, weight=round(vote.confidence, 4))
        nearly = (*((first,) if number(vote.text) is not None else ()), *_alternatives(vote))
    return DisplayReading(capture=capture, box=box, alternatives=nearly, reason=reason)


def _refusal(group: Group, vote: Vote, strip: Image) -> str | None:
    """Why nothing is read: the readers guess, or they waver over a picture that is visibly bad."""
    if vote.confidence >= SURE:
        return None
    visible = quality.cause(strip, group.quad, quality.weakest(vote.marks))
    if vote.confidence < LEAST:
        return visible or quality.NOTHING_CLEAR
    return visible


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
    found = find(image)
    chosen = _chosen(image, found)
    if chosen is None:
        return _without(capture, quality.BLANK if found.window > 0.6 else quality.NO_DISPLAY)
    group, vote, strip = chosen.group, chosen.vote, chosen.strip
    box = _box(group.quad, size)
    edge = quality.cut_edge(group.quad, size)
    if edge is not None:
        return _without(capture, quality.cut_sentence(edge), box, vote)
    refusal = _refusal(group, vote, strip)
    if refusal is not None:
        return _without(capture, refusal, box, vote)
    text, value, remark = _meaning(vote)
    if not text:
        return _without(capture, remark or quality.NO_DISPLAY, box)
    unsure = quality.why_unsure(vote.marks, vote.point_doubted()) if vote.confidence < SURE else None
    return DisplayReading(
        capture=capture,
        text=text,
        value=value,
        unit=read_unit(image, group.quad) if value is not None else None,
        box=box,
        digit_confidence=tuple(round(min(m, 1.0), 4) for m in vote.marks) if value is not None else (),
        confidence=round(vote.confidence, 4),
        alternatives=_alternatives(vote),
        reason=remark or unsure,
    )
