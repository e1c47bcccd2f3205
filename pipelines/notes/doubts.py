"""What a person has to be asked about a reading: its part, its place, the words round it."""

from decimal import Decimal

from pipelines.notes import context
from pipelines.notes.items import Item, follows_one
from pipelines.notes.walk import Walk

# A name that sounds less alike than this is asked about.
SURE_NAME = 0.86
# A context that fewer hypotheses than this share is asked about.
SURE_CONTEXT = 0.6
_PRESSURES = ("pressure", "pressure_after_hold")
_SEVEN, _TWENTY = 7, 20
_NO_CORNER = "Nobody said which side and axle this is."


def _borrowed_temperature(w: Walk, measure: str) -> bool:
    """Whether a temperature was said without its part, and the part at hand is known by other measures.

    Many parts have one, so a name lost before it would leave it with the part named before.
    """
    part, last = w.frame.part(w.vocabulary), w.frame.last
    if measure != "temperature" or w.named_here or part is None or measure == next(iter(part.measures), ""):
        return False
    return last is None or (last.component, last.measure) != (w.frame.component, measure)


def context_doubts(w: Walk, item: Item, value: Decimal, measure: str) -> tuple[str, ...]:
    """Doubts from the words round a number that nothing explains."""
    doubts = []
    if 0 < w.frame.name_weight < SURE_NAME:
        doubts.append(f"The part was not named outright: taken from “{w.frame.named_as}”.")
    if w.frame.sure < SURE_CONTEXT:
        doubts.append(
            "What this is about was said before and not heard clearly: listen to what comes before."
        )
    place = w.row.index(item)
    before = w.row[place - 1].end if place else 0
    garbled = context.strange_words(w.text, before, item.start, w.row, w.known)
    if garbled:
        doubts.append(f"“{garbled}” right before it was not understood: part of the number may be lost.")
    elif not w.named_here:
        strange = context.strange_words(w.text, w.sentence_start, item.start, w.row, w.known)
        if strange:
            doubts.append(f"“{strange}” was not understood: was another part named?")
    before_it = w.row[place - 1] if place else None
    if (
        before_it is not None
        and before_it.named("condition")
        and w.text[before_it.end : item.start].isspace()
    ):
        doubts.append(
            f"“{w.text[before_it.start : item.start].strip()}” may be the beginning of this number."
        )
    bound = w.row[w.row.index(item) - 1] if w.row.index(item) else None
    if bound is not None and bound.cue("bound") and len(w.text[bound.end : item.start].split()) < 2:
        doubts.append(f"“{w.text[bound.start : item.end].strip()}” gives a bound, not a value: measure it.")
    beyond = context.counted_thing(w.text, item, w.row, w.plain, w.vocabulary.fillers["pieces"])
    if beyond:
        doubts.append(f"“{item.number.text.strip()} {beyond}” may not be a reading.")  # type: ignore[union-attr]
    if _borrowed_temperature(w, measure):
        doubts.append("Nobody said here what was this warm: taken as the part named before.")
    if whole := follows_one(w.text, item):
        doubts.append(f"“{whole}” may be one number.")
    return (*doubts, *_sounds_alike(w, item, value, measure))


def _sounds_alike(w: Walk, item: Item, value: Decimal, measure: str) -> tuple[str, ...]:
    """Doubts about "to" and "two", and about "psi" said as a word and "seven", which sound alike."""
    assert item.number is not None
    said = item.number.text.strip()
    bare = item.number.readings[0].unit is None
    if bare and measure in _PRESSURES and value > _TWENTY and value % 10 == _SEVEN:
        return (f"“{said}” may be “{value - _SEVEN:f} psi”: no unit was heard.",)
    if context.swallowed_to(w.text, item, value):
        return (f"“{said}” may be “to {value - 100:f}”.",)
    return (f"“{said} to” may be {value + 2:f}.",) if context.swallowed_two(w.text, item, value) else ()


def place_doubts(w: Walk) -> tuple[str, ...]:
    """A doubt when the side was not said, or long ago."""
    frame, part = w.frame, w.frame.part(w.vocabulary)
    assert part is not None
    said = frame.explicit()
    if frame.clash:
        return (f"Two places were said for this: {frame.clash}.",)
    corner = "side" in part.axes and "axle" in part.axes
    if corner and "axle" not in said and "axle" not in frame.header and frame.both != "all":
        return (
            ("Nobody said which axle this is on.",) if "side" in {**frame.header, **said} else (_NO_CORNER,)
        )
    if "side" not in part.axes or "side" in said or frame.both:
        return ()
    if "side" not in frame.header:
        return ("Nobody said which side this is.",)
    if frame.header_age > frame.header_lasts:
        return (f"No side was said here; {frame.header['side']} was said well before.",)
    return ()
