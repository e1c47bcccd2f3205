"""Reads one hypothesis: a walk over its items that keeps the context and states claims."""

from collections.abc import Sequence

from models.vocabulary import Vocabulary
from pipelines.notes import (
    bystanders,
    corrections,
    cues,
    date_codes,
    listing,
    marks,
    moving,
    muting,
    naming,
    placing,
    quantities,
    repeats,
    weighing,
)
from pipelines.notes.claims import Claim, Heading
from pipelines.notes.frame import HEADING_LASTS, Frame, places_of
from pipelines.notes.heading import read_heading
from pipelines.notes.items import Item
from pipelines.notes.lexicon import Lexicon
from pipelines.notes.walk import Walk


class Reader:
    """Reads one text; make a new one for each."""

    def __init__(
        self,
        text: str,
        frame: Frame,
        lexicon: Lexicon,
        vocabulary: Vocabulary,
        pauses: Sequence[int] = (),
    ) -> None:
        """As for :class:`Walk`."""
        self._walk = Walk(text, frame, lexicon, vocabulary, pauses)

    def read(self) -> tuple[list[Claim], Frame, Heading]:
        """The claims in order, the context behind the text, and what was said of the inspection itself."""
        w = self._walk
        w.heading, w.taken = read_heading(w.text, w.row)
        if w.heading.odometer is not None and w.heading.odometer[1] == "km":
            w.frame.metric += 2
        w.frame.unit_name = w.frame.unit_name or w.heading.unit or ""
        w.unknown = muting.calls_somebody(w)
        corrections.looks_again(w)
        moving.moves(w)
        i = 0
        while i < len(w.row):
            if i in w.taken:
                w.muted = w.muted or ("segment" if w.row[i].cue("complaint") else "")
                i += 1
            else:
                i = _step(w, i)
        w.frame.told, w.frame.pair = repeats.told_last(w), repeats.two_told(w)
        return w.claims, w.frame, w.heading


def _step(w: Walk, i: int) -> int:
    item = w.row[i]
    if item.is_break:
        _break(w, item)
    elif item.cue("swap"):
        corrections.swap(w, i)
    elif item.cue("mistake"):
        if not corrections.of_condition(w, i):
            corrections.correction(w, i)
    elif not w.muted and item.cue("date_code") and (after := date_codes.date_code(w, i)) > i:
        return after
    elif mutes := muting.mutes(w, i):
        w.muted = mutes
    elif w.muted and not muting.ends_before(w, i):
        pass
    elif item.number is not None:
        _number(w, i)
    elif item.named("place"):
        return placing.place_run(w, i)
    elif item.named("component") or naming.stands_for(w, i):
        naming.component(w, i)
        marks.complete_no_play(w)
        marks.new_part(w, i)
    elif item.named("head"):
        w.unknown = not w.named_here and naming.names_unknown(w, item)
        placing.at_a_piece(w)
    else:
        _word(w, i)
    return i + 1


def _number(w: Walk, i: int) -> None:
    """A number; the part that it is said of may come behind it."""
    span = w.row[i].number
    assert span is not None
    if bystanders.opens_as_name(w, w.row[i]):
        quantities.orphan(w, w.row[i])
        return
    part = 0 if bystanders.is_unit_name(w, span) else naming.part_behind(w, i)
    part = 0 if part in w.taken else part  # it was found from an earlier number of the list
    behind = [k for k in range(i + 1, part) if w.row[k + 1].number is None]
    between = [label.name for k in behind for label in w.row[k].labels if label.kind == "measure"]
    if part and weighing.fits(w, i, naming.meant(w, w.row[part], between)):
        first = part
        while (
            w.row[first - 1].named("place") or w.row[first - 1].named("measure") or _parts_names(w, first - 1)
        ):
            first -= 1
        first = max(first, i + 2 if w.row[i + 1].named("measure") else i + 1)
        said = w.row[first:part]
        w.pending = [item for item in said if item.named("place")]
        w.measures_ahead = (*between, *w.measures_ahead)
        naming.component(w, part)
        w.taken.update(range(first, part + 1))
        w.taken.update(k for k in range(i + 1, first) if w.row[k].named("component"))
        w.value_first = True
    listing.places_behind(w, i)
    quantities.number(w, i)


def _parts_names(w: Walk, k: int) -> bool:
    """Whether item `k` is a comma behind a measure: "end play, right front hub"."""
    return w.row[k].is_break and not w.row[k].strong and w.row[k - 1].named("measure") is not None


def _word(w: Walk, i: int) -> None:
    item = w.row[i]
    if item.named("area"):
        w.frame.note_header(places_of(w.pending, None), HEADING_LASTS)
        w.pending = []
    elif item.named("measure"):
        quantities.measure(w, i)
    elif item.named("condition"):
        marks.condition(w, i)
    elif item.named("action"):
        marks.statement(w, i, "action")
    elif item.cue("moves_alignment"):
        marks.remark(w, i)
    elif item.named("cue"):
        cues.cue(w, i)


def _break(w: Walk, item: Item) -> None:
    if item.strong or w.muted != "sentence" or muting.part_follows(w, item):
        w.muted = ""
    if item.strong:
        w.frame.paused = max(w.frame.paused - 1, 0)
        if not w.muted and corrections.of_another(w, item):
            corrections.retract(w, w.row.index(item))
        if w.measure_behind and w.frame.measure == w.measure_behind:
            w.frame.measure = None
        w.measure_behind = ""
        w.named_here = w.measure_here = w.value_first = w.unknown = False
        w.measures_ahead, w.both_ahead = (), None
        w.sentence_start = item.end
        w.unknown = muting.calls_somebody(w)
        corrections.looks_again(w)
        moving.moves(w)
        if w.frame.content or w.both_named:
            w.frame.both, w.both_named = None, False
