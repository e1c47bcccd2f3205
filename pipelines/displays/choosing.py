"""Which of the groups of digits in a photo is the reading, and what speaks against taking it silently.

A display may have several lines, and then the top one is the reading. A photo may show several displays, and
then nobody but the person who took it knows which one was meant, unless one is plainly larger.
"""

from dataclasses import dataclass, replace

import numpy as np

from pipelines.displays.decoding import Heard, most_agreed, together
from pipelines.displays.locate import LARGE, Found, Group, whole_strip
from pipelines.displays.segments import read_segments
from pipelines.displays.straighten import Image, Photo, sides
from pipelines.displays.strips import MANY, far_looks, first_look, trials, with_missed_ends
from pipelines.displays.voting import LEAST, SURE, Vote, join, number, with_far_minus, with_first_one

# What another display must be read with to count beside the first.
_CLEAR = 0.75
# What counts as a number that could not be read, rather than clutter.
_PERHAPS = 0.3
# Lines of one display lie closer than this (in digit heights, from foot to top) and share this much width.
_LINE_GAP = 0.9
_LINE_SHARED = 0.5


@dataclass(frozen=True)
class ReadGroup:
    """A group with what was read on it.

    Attributes:
        group: where.
        vote: what.
        strip: the digits straightened.
        heard: the recogniser's trials.
    """

    group: Group
    vote: Vote
    strip: Image
    heard: list[Heard]


@dataclass(frozen=True)
class Choice:
    """The reading and what stands beside it.

    Attributes:
        main: the group taken.
        lines: other lines of the same display, from top to bottom.
        rivals: other displays that might have been meant, clearly read.
        missed: a line above the one taken, or larger digits, show something that could not be read.
    """

    main: ReadGroup
    lines: tuple[ReadGroup, ...] = ()
    rivals: tuple[ReadGroup, ...] = ()
    missed: bool = False


def _read(photo: Photo, group: Group, before: list[Heard] | None = None) -> ReadGroup:
    """Read one group; ``before`` are trials of the same digits that count as well."""
    heard, strip = trials(photo, group.quad)
    if len(heard) > MANY and (wider := with_missed_ends(photo, group.quad)) is not None:
        group = replace(group, quad=wider)
        more, strip = trials(photo, wider)
        heard = together(more, heard)
    heard = together(heard, before or [])
    joint = heard[0] if len(heard) == 1 else most_agreed(heard)
    vote = join(joint, read_segments(photo, group.quad))
    vote = with_first_one(vote)
    if vote.confidence >= LEAST:
        vote = with_far_minus(vote, far_looks(photo, group.quad))
    return ReadGroup(group, vote, strip, heard)


def same_display(upper: Group, lower: Group) -> bool:
    """Whether two groups lie under each other as lines of one display do."""
    tl, tr, br, bl = upper.quad
    across, height = sides(upper.quad)
    along = ((tr - tl) + (br - bl)) / (2 * across)
    down = np.array([-along[1], along[0]])
    foot = float(((bl + br) / 2) @ down)
    gap = float(((lower.quad[0] + lower.quad[1]) / 2) @ down) - foot
    mine, its = upper.quad @ along, lower.quad @ along
    shared = min(mine.max(), its.max()) - max(mine.min(), its.min())
    return bool(
        -0.3 * height < gap < _LINE_GAP * height and shared > _LINE_SHARED * min(np.ptp(mine), np.ptp(its))
    )


def _same(photo: Photo, whole: Group, main: ReadGroup) -> bool:
    """Whether all of a picture cut to its digits shows what was read on a part of it."""
    return first_look(photo, whole.quad).shares[0][0] == main.vote.text


def _read_at_once(read: ReadGroup) -> bool:
    """Whether the first look was clear; beside larger shapes that show nothing, only that is no clutter."""
    return read.vote.confidence >= LEAST and len(read.heard) <= 1


def _clear_number(read: ReadGroup) -> bool:
    return read.vote.confidence >= _CLEAR and number(read.vote.text) is not None


def _of_equal_standing(groups: tuple[Group, ...]) -> list[Group]:
    """The groups about as large as the largest; the locator has put them first, from top to bottom."""
    tallest = max((g.height for g in groups), default=0.0)
    return [g for g in groups if g.height >= LARGE * tallest]


def _line_of(group: Group, others: list[ReadGroup]) -> bool:
    """Whether a group is a line of the display to which the others belong."""
    return any(same_display(o.group, group) or same_display(group, o.group) for o in others)


def choose(photo: Photo, found: Found) -> Choice | None:
    """Read the groups of a photo and choose; None when none shows anything.

    Args:
        photo: the photo.
        found: the groups, main one first.
    """
    equal = [_read(photo, g) for g in _of_equal_standing(found.groups)]
    good = [r for r in equal if r.vote.text and r.vote.confidence >= LEAST]
    if not good:
        # A group that shows nothing gives way to the next, smaller ones included.
        smaller = (_read(photo, g) for g in found.groups[len(equal) :])
        good = [r for r in [next((s for s in smaller if _read_at_once(s)), None)] if r]
    shown = [r for r in (*good, *equal) if r.vote.text]
    main = shown[0] if shown else None
    whole = whole_strip(photo)
    if whole is not None and (main is None or main.vote.confidence < SURE or not _same(photo, whole, main)):
        again = _read(photo, whole, main.heard if main else None)
        main = again if again.vote.text else main
        return Choice(main) if main else None
    if main is None:
        return None
    lines = [main]
    for read in equal:
        if read is not main and _line_of(read.group, lines):
            lines.append(read)
    beside = [r for r in equal if all(r is not line for line in lines)]
    unread = [r for r in equal if r is not main and r.vote.text and r.vote.confidence < LEAST]
    # Had it been read, a display beside this one would be a rival.
    perhaps = any(
        number(r.vote.text.strip("?")) is not None and r.vote.confidence >= _PERHAPS for r in unread
    )
    smaller_taken = all(r is not main for r in equal)
    return Choice(
        main=main,
        lines=tuple(r for r in lines[1:] if _clear_number(r)),
        rivals=tuple(r for r in beside if _clear_number(r)),
        missed=perhaps or any(smaller_taken or same_display(r.group, main.group) for r in unread),
    )
