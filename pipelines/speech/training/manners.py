"""Drawn sentences in other orders: the value first, the state first, told while working, in pairs."""

from collections.abc import Callable

from pipelines.speech.training.names import Names
from pipelines.speech.training.phrases import CORRECTIONS, STARTERS
from pipelines.speech.training.readings import BY_MEASURE, READINGS, inch_fraction, pressure, temperature
from pipelines.speech.training.saying import Said, join, plain

_DOING = (
    "putting the gauge on it",
    "wiping that off",
    "got the mic on it",
    "let me get the light in here",
    "backing it off a turn",
    "spinning it by hand",
    "rocking the wheel",
    "with the pry bar",
    "dial's on it",
    "under load",
    "key on",
    "zeroed out",
    "hooking up the meter",
    "crawling under",
)
_CORNERS = ("left front", "right front", "left rear", "right rear", "axle two left", "axle three right")
_OPPOSITES = (
    *(("left", "right"), ("left", "right"), ("driver side", "passenger side"), ("left front", "right front")),
    *(("upper", "lower"), ("inner", "outer"), ("front", "rear"), ("left rear", "right rear")),
)
_SEEN = (
    *(
        "I see",
        "I've got a",
        "there's a",
        "there is a",
        "found a",
        "looks like a",
        "we have a",
        "got",
        "that's a",
    ),
    *("I'd call that", "a bit", "a little", "badly", "slightly", "starting to look", "pretty"),
)
_LIMITS = (
    *("spec is", "minimum is", "the limit's", "supposed to be", "should be", "book says", "max is"),
    *("new is", "discard is", "allowed is", "we pull them at", "it wants"),
)


def value_first(names: Names) -> Said:
    """The value first: "seven thirty-seconds on the left front tire"."""
    rng = names.rng
    part, named = names.named()
    between = rng.choice((" on the ", " at the ", " for the ", " in the ", " is the ", ", "))
    lead = plain(rng.choice(("", "", "I've got ", "I get ", "we have ", "that's ", "there's ", "call it ")))
    return join((lead, join((names.value(part), named), between)), "")


def state_first(names: Names) -> Said:
    """The state first: "there's a leak at the rear axle seal"."""
    rng = names.rng
    state = names.words(rng.choice(list(names.vocabulary.conditions.values())))
    _, named = names.named()
    said = join((plain(rng.choice(_SEEN) if rng.random() < 0.6 else ""), state))
    return join((said, named), rng.choice((" ", " on the ", " at the ", " in the ", " is what the ")))


def while_working(names: Names) -> Said:
    """What is done in between: "got the mic on it, left front rotor comes in at one point one"."""
    rng = names.rng
    part, named = names.named()
    doing = plain(rng.choice(_DOING))
    said = join((named, names.value(part)), rng.choice((", ", " is ", " comes in at ", " and it's ", " ")))
    return join((doing, said) if rng.random() < 0.7 else (said, doing), ", ")


def in_pairs(names: Names) -> Said:
    """Two places at once: "left and right upper ball joint twelve and fourteen thousandths"."""
    rng = names.rng
    part, name = names.part()
    first, second = rng.sample(rng.choice(_OPPOSITES), 2)
    measures = [m for m in part.measures if m in BY_MEASURE]
    draw = rng.choice(BY_MEASURE[rng.choice(measures)] if measures else READINGS)
    places = join((plain(first), plain(second)), " and ")
    values = join((draw(rng), draw(rng)), rng.choice((" and ", ", ")))
    return join((places, name, values), rng.choice((" ", " ", ", ")))


def against_a_limit(names: Names) -> Said:
    """With its limit: "right rear drum sixteen point oh eight, max is sixteen and an eighth"."""
    rng = names.rng
    part, named = names.named()
    measures = [m for m in part.measures if m in BY_MEASURE]
    draw = rng.choice(
        BY_MEASURE[rng.choice(measures)] if measures else (inch_fraction, pressure, temperature)
    )
    limit = join((plain(rng.choice(_LIMITS)), draw(rng)))
    pieces = (join((named, draw(rng))), limit)
    return join(pieces if rng.random() < 0.7 else pieces[::-1], rng.choice((", ", ". ")))


def several(names: Names) -> Said:
    """Two or three parts with their readings in one breath."""
    rng = names.rng
    rows = []
    for _ in range(rng.choice((2, 2, 3))):
        part, named = names.named()
        said = names.state() if rng.random() < 0.3 else names.value(part)
        rows.append(join((named, said), rng.choice((" ", " ", ", ", " is "))))
    return join((plain(rng.choice(STARTERS)), join(rows, rng.choice((", ", ", and ", ". ")))), "")


def other_place(names: Names) -> Said:
    """A correction of the place: "no, that's the right rear"."""
    rng = names.rng
    _, named = names.named()
    place = plain(rng.choice(("that's the ", "that was the ", "it's the ", "")) + rng.choice(_CORNERS))
    return join((plain(rng.choice(CORRECTIONS)), place if rng.random() < 0.6 else named))


# Each way with its weight beside the other kinds of sentence.
WAYS: dict[Callable[[Names], Said], int] = {
    value_first: 16,
    state_first: 10,
    while_working: 10,
    in_pairs: 8,
    against_a_limit: 6,
    several: 16,
    other_place: 4,
}
