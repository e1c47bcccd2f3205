"""What is said once and holds more than once: "the same on the right", "both sides", "all round"."""

from dataclasses import replace

from models.places import Position
from models.vocabulary import Component
from pipelines.notes.claims import Claim
from pipelines.notes.frame import FINE, OPPOSITE, SPOT_MEASURES, Places
from pipelines.notes.walk import Walk

# What holds for one thing alone, however much else is the same.
_OWN = ("drop", "ask", "orphan", "code", "remark")


def told_last(w: Walk) -> list[Claim]:
    """The last claims that are about one part at one corner, of an earlier window if there is none yet."""
    claims = [c for c in w.claims if c.kind not in _OWN]
    if not claims:
        return w.frame.told
    last = claims[-1]
    corner = (last.component, last.position.side, last.position.axle)
    group: list[Claim] = []
    for claim in reversed(claims):
        if (claim.component, claim.position.side, claim.position.axle) != corner:
            break
        group.insert(0, claim)
    return group


def same(w: Walk, places: Places, end: int) -> None:
    """Say the last claims again at another place; without a place, at the other side.

    Args:
        w: the walk to add to.
        places: the place words said with "the same".
        end: offset behind the words.
    """
    group = told_last(w)
    if not group:
        return
    if measures := _said_again(w, group, end):
        group = [claim for claim in group if claim.kind != "reading" or claim.measure in measures]
    part = w.vocabulary.components[group[-1].component]
    fitting = {axis: value for axis, value in places.items() if axis in part.axes}
    side = group[-1].position.side
    if not fitting and side is not None:
        fitting = {"side": OPPOSITE[side]}
    if not fitting:
        return
    w.frame.start(group[-1].component, fitting, group[-1].weight)
    w.frame.note_header(fitting)
    for claim in group:
        said = replace(
            claim,
            position=claim.position.with_keys(**fitting),
            group=w.frame.group,
            start=min(claim.start, end),
            end=end,
        )
        w.claims.append(said)
        if said.kind == "reading":
            w.frame.last = said
    w.frame.content = True


def _said_again(w: Walk, group: list[Claim], end: int) -> set[str]:
    """The measures of readings that are told once more: "same on the right, six thirty-seconds"."""
    values = set()
    for item in w.row:
        if item.is_break and item.strong and item.end > end:
            break
        if item.start >= end and item.number is not None:
            values |= {(reading.value, reading.unit) for reading in item.number.readings}
    return {claim.measure for claim in group if (claim.value, claim.unit) in values}


def _corner(claim: Claim) -> Position:
    return claim.position.with_keys(spot=None, face=None)


def same_measure(w: Walk, measure: str, end: int) -> bool:
    """Say the last readings of one measure again for the place at hand: "ninety seven, same tread".

    Args:
        w: the walk to add to.
        measure: of the part at hand.
        end: offset behind the words.

    Returns:
        Whether there was one at another place.
    """
    part = w.frame.part(w.vocabulary)
    if part is None:
        return False
    position = w.frame.position(part)
    read = {c.position: c for c in (*w.frame.recent, *told_last(w)) if c.measure == measure}
    alike = [c for c in read.values() if c.component == w.frame.component and _corner(c) != position]
    alike = [c for c in alike if _corner(c) == _corner(alike[-1])]
    for claim in [c for c in alike if c.position != _corner(c)] or alike:
        fine = {axis: getattr(position, axis) or getattr(claim.position, axis) for axis in FINE}
        said = replace(claim, position=position.with_keys(**fine), group=w.frame.group, start=end, end=end)
        w.claims.append(said)
        w.frame.content, w.frame.last = True, said
    return bool(alike)


def two_faces(w: Walk, last: Claim) -> bool:
    """Whether both are the two faces that this sentence told of: "four outer, three inner, replace both"."""
    corner = (last.component, last.position.side, last.position.axle)
    faces = {
        claim.position.face
        for claim in w.claims
        if claim.start >= w.sentence_start
        and claim.kind == "reading"
        and (claim.component, claim.position.side, claim.position.axle) == corner
    }
    return len(faces - {None}) == 2


def two_told(w: Walk) -> tuple[Claim, ...]:
    """The last claims of the two parts or corners that the sentence told of; empty for more or fewer.

    A sentence that names no part goes on with the one before it.
    """
    breaks = [item.end for item in w.row if item.is_break and item.strong and item.end < w.sentence_start]
    start = w.sentence_start if w.named_here else max(breaks, default=0)
    told: dict[tuple[str, Position], Claim] = {}
    for claim in w.claims:
        if claim.kind not in _OWN and claim.start >= start:
            told[claim.component, claim.position.with_keys(face=None, spot=None)] = claim
    return tuple(told.values()) if len(told) == 2 else ()


def both_of(w: Walk, both: str, part: Component, places: Places) -> str:
    """What both are: two sides, but two faces of one side, or the upper and the lower one of it."""
    if both == "sides" and "face" in part.axes and "side" in {**w.frame.header, **w.frame.explicit()}:
        return "face:inner+outer" if "face" not in places else both
    if both == "sides" and "level" in part.axes and "side" in places:
        return "level:upper+lower" if "level" not in places else both
    return both


def spread(w: Walk, which: str) -> None:
    """State the last claims for both sides, or for all four corners.

    Args:
        w: the walk to change.
        which: ``sides``, ``all``, or an axis and its two values (``face:inner+outer``).
    """
    if not w.claims or w.claims[-1].kind in ("drop", "ask", "orphan", "remark"):
        return
    last = w.claims[-1]
    part = w.vocabulary.components[last.component]
    axis, _, values = which.partition(":")
    if axis == "spot" and last.kind == "reading" and last.measure not in SPOT_MEASURES:
        return  # a tire has one pressure
    if values and axis in part.axes:
        w.claims[-1:] = [
            replace(last, position=last.position.with_keys(**{axis: v})) for v in values.split("+")
        ]
        w.frame.last = w.claims[-1] if last.kind == "reading" else w.frame.last
    if (
        values
        or "side" not in part.axes
        or (which == "sides" and last.kind != "reading" and two_faces(w, last))
    ):
        return
    axles = ("front", "rear") if which == "all" and "axle" in part.axes else (last.position.axle,)
    corners = [(side, axle) for axle in axles for side in ("left", "right")]
    doubts = tuple(d for d in last.doubts if "side" not in d)
    w.claims[-1:] = [
        replace(last, position=last.position.with_keys(side=side, axle=axle), doubts=doubts)
        for side, axle in corners
    ]
    if last.kind != "code":
        w.frame.last = w.claims[-1]
