"""Corrections: what was said first is replaced, never kept beside."""

from dataclasses import replace

from pipelines.notes.claims import Claim
from pipelines.notes.frame import places_of
from pipelines.notes.items import Item
from pipelines.notes.walk import Walk


def correction(w: Walk, i: int) -> None:
    """The next number, place or part replaces the last reading; "scratch that" alone drops it."""
    frame = w.frame
    if frame.last is None or frame.correcting:
        return
    within = w.row[i + 1 : i + 4]
    goes_on = any(item.number is not None or item.named("place") for item in within)
    drops = w.row[i].cue("drop") or "scratch" in w.text[w.row[i].start : w.row[i].end].lower()
    if goes_on and (drops or len(words_until_number(w, i)) <= 4):
        frame.correcting = True
    elif drops:
        remove_last(w)


def words_until_number(w: Walk, i: int) -> list[str]:
    """The words between a cue and the number or place it leads to; many when there is none."""
    for item in w.row[i + 1 :]:
        if item.number is not None or item.named("place"):
            return w.text[w.row[i].end : item.start].split()
    return ["far"] * 9


def replacing(w: Walk, claim: Claim) -> Claim:
    """The corrected reading: same part and place as the one it replaces, unless said anew."""
    last = w.frame.last
    assert last is not None
    remove_last(w)
    if claim.component != last.component:
        return claim
    return replace(claim, position=last.position, group=last.group, measure=last.measure)


def correct_place(w: Walk, run: list[Item]) -> None:
    """Move the last reading to the place said behind a correction."""
    frame, last = w.frame, w.frame.last
    assert last is not None
    part = w.vocabulary.components[last.component]
    places = {a: v for a, v in places_of(run, part).items() if a in part.axes}
    remove_last(w)
    claim = replace(last, position=last.position.with_keys(**places))
    frame.places.update(places)
    frame.note_header(places)
    w.claims.append(claim)
    frame.last = claim
    following = w.near(w.row.index(run[-1]), 1)
    frame.correcting = following is not None and following.number is not None


def remove_last(w: Walk) -> None:
    """Take back the last reading; one of an earlier window is taken back by a claim that says so."""
    last = w.frame.last
    assert last is not None
    for k in range(len(w.claims) - 1, -1, -1):
        if w.claims[k].kind == "reading":
            del w.claims[k]
            return
    w.claims.append(replace(last, kind="drop", start=0, end=0))
