"""Numbers that are no readings: limits, names, counts, other trucks, what is said twice."""

import re

from pipelines.notes import context, corrections, diagonals, placing
from pipelines.notes.items import Item
from pipelines.notes.numbers import NumberSpan
from pipelines.notes.walk import Walk

# No more parts than this are counted aloud.
COUNTED = 12
# So many words may stand between a number and the place it belongs to.
_CLOSE = 2
_THESE = re.compile(r"\b(?:these|those)\s+$", re.I)
_THE_SO_MANY = re.compile(r"\b(?:the|these|those|all|of)\s+$", re.I)


def says_nothing(w: Walk, item: Item) -> bool:
    """Whether the number of an item is no reading and nobody has to know of it: a limit, the truck's name."""
    assert item.number is not None
    return (
        (is_unit_name(w, item.number) and not w.frame.name_guessed)
        or diagonals.names_diagonal(w, item)
        or (_spells_unit_name(w, item) and not w.frame.name_guessed)
        or _is_limit(w, item)
        or _pronoun_of_condition(w, item)
        or _numbered(w, item)
        or _somebody(w, item)
        or _spelt_again(w, item)
        or corrections.denies(w, item)
        or _from_to(w, item)
    )


def is_told(w: Walk, item: Item) -> bool:
    """Whether the number of an item is no reading, but is told as something that was heard."""
    assert item.number is not None
    return (
        w.unknown
        or is_unit_name(w, item.number)
        or _not_of_this(w, item)
        or _goes_to(w, item)
        or _rating(w, item)
        or _of_a_tool(w, item)
        or context.tells_hour(w.text, item)
        or context.tells_setting(w.text, item)
        or context.tells_past_hold(w.text, item)
        or context.told_behind(w.text, item, w.vocabulary.fillers)
        or context.implies_limit(w.text, item)
        or context.tells_surroundings(w.text, item)
        or context.tells_difference(w.text, item)
        or _names_the_truck(w, item)
        or context.names_truck(w.text, item)
        or _counts_parts(w, item)
    )


def is_unit_name(w: Walk, span: NumberSpan) -> bool:
    """Whether the number is only what the truck is called: its sentence names no part and no measure."""
    name = w.frame.unit_name
    if w.named_here or w.measure_here or not span.readings:
        return False
    bare = span.readings[0].unit is None and span.readings[0].kind in (None, "pair")
    return bare and bool(name) and any(f"{r.value:f}".replace(".", "") == name for r in span.readings)


def _spells_unit_name(w: Walk, item: Item) -> bool:
    """Whether digits in a row are what the truck is called: "four four one complete". They are used up."""
    name, k, digits, used = w.frame.unit_name, w.row.index(item), "", list[int]()
    while k < len(w.row) and (number := w.row[k].number) is not None and len(digits) < len(name):
        best = number.readings[0] if number.readings else None
        if best is None or best.unit or best.kind not in (None, "pair") or w.named_here or w.measure_here:
            return False
        digits, used, k = digits + f"{best.value:f}".replace(".", ""), [*used, k], k + 1
    if len(used) < 2 or digits != name:
        return False
    w.taken.update(used)
    return True


def opens_as_name(w: Walk, item: Item) -> bool:
    """Whether a bare number is the very first word of a note, before a comma: the truck's name, most likely.

    It is kept as such, so that it is no reading where it is said again.
    """
    k = w.row.index(item)
    assert item.number is not None
    best = item.number.readings[0] if item.number.readings else None
    after = w.row[k + 1] if k + 1 < len(w.row) else None
    first = k == 0 and w.frame.component is None and w.frame.group == 0 and not w.text[: item.start].strip()
    if best is None or not first or after is None or not after.is_break or best.value < COUNTED:
        return False
    if best.unit or best.kind not in (None, "pair") or best.denominator or w.frame.unit_name:
        return False
    if best.value != best.value.to_integral_value() or context.goes_on_with_thats(w.text, after.end):
        return False
    w.frame.unit_name = f"{max(r.value for r in item.number.readings):f}".replace(".", "")
    w.frame.name_guessed = True
    return True


def _names_the_truck(w: Walk, item: Item) -> bool:
    """Whether a bare number opens its sentence as a name: "318 is up on the lift"; the first one is kept."""
    if not context.names_something(w.text, item, w.sentence_start):
        return False
    assert item.number is not None
    best = max(reading.value for reading in item.number.readings)
    if not w.frame.unit_name and w.frame.component is None and best > COUNTED:
        w.frame.unit_name, w.frame.name_guessed = f"{best:f}", True
    return True


def _goes_to(w: Walk, item: Item) -> bool:
    """Whether a bare number is the truck that the speaker goes back to: "back on two oh eight"."""
    k = w.row.index(item)
    assert item.number is not None
    bare = item.number.readings[0].unit is None and not item.number.readings[0].denominator
    return bare and k > 0 and w.row[k - 1].cue("going") and w.text[w.row[k - 1].end : item.start].isspace()


def _of_a_tool(w: Walk, item: Item) -> bool:
    """Whether a number is the size of a tool: "the ten millimeter socket"."""
    behind = w.text[item.end :].lower().split()[:1]
    before = w.text[: item.start].lower().split()[-1:]
    word = behind[0].strip(".,;!?") if behind else ""
    return word in w.vocabulary.fillers["sized"] or (word == "one" and before == ["the"])


def _not_of_this(w: Walk, item: Item) -> bool:
    """Whether the clause of a number tells of another truck or time, or of what a label or rule says."""
    k = w.row.index(item)
    start = next((other.end for other in reversed(w.row[:k]) if other.is_break), 0)
    end = next((other.start for other in w.row[k + 1 :] if other.is_break), len(w.text))
    fillers = w.vocabulary.fillers
    return (
        context.at_another_time(w.text, start, end, fillers)
        or context.of_another(w.text, w.sentence_start, end, fillers)
        or context.told_by(w.text, start, item.start, fillers)
    )


def _pronoun_of_condition(w: Walk, item: Item) -> bool:
    """Whether "one" is one of several: "one snapped off"."""
    k = w.row.index(item)
    after = w.row[k + 1] if k + 1 < len(w.row) else None
    one = w.text[item.start : item.end].lower() == "one"
    return one and after is not None and (after.named("condition") or after.named("action")) is not None


def _from_to(w: Walk, item: Item) -> bool:
    """Whether "two" stands between corners for "to": "left front two right rear"."""
    k = w.row.index(item)
    beside = w.row[max(k - 1, 0)], w.row[min(k + 1, len(w.row) - 1)]
    part = w.frame.part(w.vocabulary)
    two = w.text[item.start : item.end].lower() in ("two", "2")
    return two and part is not None and "index" in part.axes and all(other.named("place") for other in beside)


def _somebody(w: Walk, item: Item) -> bool:
    """Whether "one" is no count but a thing or a person: "tell one if he can have it back"."""
    if w.named_here or w.measure_here or w.text[item.start : item.end].lower() != "one":
        return False
    k = w.row.index(item)
    before, after = w.row[k - 1 : k], w.row[k + 1 : k + 2]
    gaps = [w.text[other.end : item.start] for other in before] + [w.text[item.end : o.start] for o in after]
    near = [o for o, gap in zip((*before, *after), gaps, strict=True) if len(gap.split()) <= _CLOSE]
    return not any(other.is_break or other.named("place") or other.named("measure") for other in near)


def _numbered(w: Walk, item: Item) -> bool:
    """Whether a number is a name: "he took it to bay four"."""
    before = w.text[: item.start].lower().split()[-1:]
    return bool(before) and before[0] in w.vocabulary.fillers["numbered"]


def _spelt_again(w: Walk, item: Item) -> bool:
    """Whether digits say the last reading once more: "32 psi, three two". They are used up then."""
    k, digits, last = w.row.index(item), "", w.frame.last
    used: list[int] = []
    for j in range(k, len(w.row)):
        number = w.row[j].number
        if number is None or not re.fullmatch(
            r"\d", f"{number.readings[0].value:f}" if number.readings else ""
        ):
            break
        digits, used = digits + f"{number.readings[0].value:f}", [*used, j]
    if last is None or last.value is None or len(digits) < 2 or not w.claims or w.claims[-1] != last:
        return False
    if digits != f"{last.value:f}".replace(".", "").lstrip("0"):
        return False
    w.taken.update(used)
    return True


def _rating(w: Walk, item: Item) -> bool:
    """Whether a number belongs to the name of a part: "it's an eight hundred amp battery"."""
    k = w.row.index(item)
    after = w.row[k + 1] if k + 1 < len(w.row) else None
    article = w.text[: item.start].lower().split()[-1:] in (["a"], ["an"])
    return (
        article
        and after is not None
        and (after.named("component") or after.named("head")) is not None
        and w.text[item.end : after.start].isspace()
    )


def _is_limit(w: Walk, item: Item) -> bool:
    """Whether the words behind a number make it a limit."""
    return context.tells_limit(w.text, item, w.row[w.row.index(item) + 1 :])


def _counts_parts(w: Walk, item: Item) -> bool:
    """Whether a bare number opens a segment and a part stands right behind: "one wheel stud broke off"."""
    k = w.row.index(item)
    after = w.row[k + 1] if k + 1 < len(w.row) else None
    label = (after.named("component") or after.named("head")) if after is not None else None
    opens = k == 0 or w.row[k - 1].is_break
    assert item.number is not None
    best = item.number.readings[0]
    bare = best.unit is None and best.kind is None and best.denominator is None
    few = bare and 0 < best.value <= COUNTED
    if few and _THE_SO_MANY.search(w.text, 0, item.start) and placing.part_next(w, k):
        return True  # "of the two front brake hoses"
    if few and _THESE.search(w.text, 0, item.start) and (after is None or after.is_break):
        return True  # "runout on these two, left four hundredths"
    return opens and few and label is not None and w.text[item.end : after.start].isspace()  # type: ignore[union-attr]
