"""What the speaker is talking about right now: part, place, measure, and what the last number was."""

import copy
from dataclasses import dataclass, field

from models.places import AXES, Position
from models.vocabulary import Component, Vocabulary
from pipelines.notes.binding import Scale
from pipelines.notes.claims import Claim
from pipelines.notes.items import Item
from pipelines.notes.lexicon import Label

Places = dict[str, str | int]
# What a word alone makes numbers without a unit be counted in, UCUM.
SPOKEN_UNITS = {
    "celsius": ("Cel",),
    "fahrenheit": ("[degF]",),
    "metric": ("mm", "Cel", "kPa", "N.m"),
    "millimeters": ("mm",),
    "inches": ("[in_i]",),
}
_METRIC = ("mm", "Cel", "kPa", "bar", "N.m")
_US = ("[in_i]", "[degF]", "[psi]", "[ft_i].[lbf_av]")
# Parts for which a side that was said is not asked for again, and for which a heading holds.
HEADER_LASTS = 3
HEADING_LASTS = 8
COARSE = ("side", "axle")
# Parts that are not at an axle: their place has nothing to do with the wheels that were spoken of before.
_OFF_THE_AXLES = frozenset(("lamp",))
OPPOSITE = {"left": "right", "right": "left"}
FINE = ("face", "spot")
# Measures that are taken at spots across a tread or round a rotor; a tire has one pressure.
SPOT_MEASURES = ("tread_depth", "thickness")
PLAYS = ("play", "axial_play", "radial_play", "end_play", "free_play")


@dataclass
class Frame:
    """The context that is carried from word to word and from window to window.

    Attributes:
        component: the part being talked about.
        name_places: place words in front of its name ("lower left ball joint").
        places: place words behind it.
        header: the side and axle said last, for parts that follow without their own.
        header_age: parts named since the header was said.
        measure: the measure named last for this part.
        both: the next statement holds for both sides, or all round.
        group: number of the mention.
        content: something was stated about this mention.
        number_first: numbers come before their places ("seven outside, six in the middle").
        last: the last reading.
        recent: the readings stated last, oldest first.
        told: what was stated last of one part at one corner.
        pair: what was stated last of two parts or corners in one sentence.
        scale: what its list is counted in.
        scales: what each measure of this part was counted in the last time.
        before: what the list of the part before was counted in.
        header_lasts: for how many parts the header holds: more when it was a heading of its own.
        held: a hold time was given, so a pressure is one after the hold.
        correcting: the next number, place or part replaces the last.
        paused: for so many sentences yet a reading of what was read last takes its place.
        name_weight: how well its name fits, 0 to 1.
        units: the unit last said aloud for each part and measure, and for each measure.
        read: what has been read already, as part, place and measure.
        named_as: the words that its name was taken from, when they only sound like it.
        previous: the part named just before this one, when nothing was said of it.
        previous_places: the places that were said of it.
        clash: two places that were said for this mention and exclude each other, in words.
        fresh: the axes of the places said for this mention itself, not carried over from the one before.
        sure: share of the hypotheses of the last window that end with this part and place.
        metric: above 0 when what was said aloud is metric where another unit is usual, below for the other.
        order: places across the part that the next readings are of, in order.
        trailing: place words at the very end of the last window; their part may open the next.
        unit_name: what the truck is called, so that its number is no reading.
        name_guessed: nobody said "unit" before it, so its number is told wherever it is left out.
    """

    component: str | None = None
    name_places: Places = field(default_factory=dict)
    places: Places = field(default_factory=dict)
    header: Places = field(default_factory=dict)
    header_age: int = 0
    measure: str | None = None
    both: str | None = None
    group: int = 0
    content: bool = False
    number_first: bool = False
    last: Claim | None = None
    recent: list[Claim] = field(default_factory=list)
    told: list[Claim] = field(default_factory=list)
    pair: tuple[Claim, ...] = ()
    scale: Scale | None = None
    scales: dict[str, Scale] = field(default_factory=dict)
    before: Scale | None = None
    header_lasts: int = HEADER_LASTS
    held: bool = False
    correcting: bool = False
    paused: int = 0
    name_weight: float = 1.0
    units: dict[str, str] = field(default_factory=dict)
    read: set[str] = field(default_factory=set)
    unit_name: str = ""
    name_guessed: bool = False
    named_as: str = ""
    previous: str | None = None
    previous_places: Places = field(default_factory=dict)
    trailing: list[Item] = field(default_factory=list)
    order: list[Places] = field(default_factory=list)
    metric: int = 0
    sure: float = 1.0
    clash: str = ""
    fresh: set[str] = field(default_factory=set)

    def copy(self) -> "Frame":
        """A frame that can go on by itself."""
        return copy.deepcopy(self)

    def context(self) -> str:
        """Part, place and measure as one text, to compare contexts."""
        return f"{self.component} {sorted(self.explicit().items())} {self.measure} {self.both}"

    def part(self, vocabulary: Vocabulary) -> Component | None:
        """The part's entry in the vocabulary."""
        return vocabulary.components.get(self.component) if self.component else None

    def said_unit(self, measure: str) -> str | None:
        """The unit last said aloud for a measure of this part, else for that measure of any part."""
        return self.units.get(f"{self.component}/{measure}") or self.units.get(measure)

    def weigh_system(self, measure: str, unit: str, part: Component) -> None:
        """Remember whether a unit said aloud is metric, unless it is what everybody uses there."""
        usual = next(iter(part.measures.get(measure, {})), unit)
        if unit != usual or unit in _US:
            self.metric += (unit in _METRIC) - (unit in _US)

    def expected_units(self, part: Component) -> dict[str, str]:
        """The metric unit of each measure of a part, where the speaker uses such units; else nothing."""
        if self.metric <= 0:
            return {}
        units = {m: [u for u in ranges if u in _METRIC] for m, ranges in part.measures.items()}
        return {measure: metric[0] for measure, metric in units.items() if metric}

    def count_in(self, codes: tuple[str, ...], vocabulary: Vocabulary) -> None:
        """Take numbers without a unit for these units from now on, wherever a measure can have one."""
        for part in vocabulary.components.values():
            for measure, ranges in part.measures.items():
                for code in (code for code in codes if code in ranges):
                    self.units[measure] = code

    def start(self, component: str, name_places: Places, weight: float) -> None:
        """A part was named."""
        self.previous = self.component if not self.content else None
        self.previous_places = self.explicit() if self.previous else {}
        if component != self.component:
            self.before = self.scale or self.before
            self.scale, self.scales = None, {}
        self.component, self.name_places, self.places = component, dict(name_places), {}
        self.measure, self.number_first, self.content = None, False, False
        self.held, self.name_weight, self.order = False, weight, []
        self.group += 1
        self.header_age += 1
        self.sure, self.clash, self.fresh = 1.0, "", set(name_places)

    def again(self, places: Places) -> None:
        """The same part at another place: finer places are dropped when side or axle change."""
        self.both, self.clash, self.fresh = None, "", set(places)
        kept = dict(self.places)
        if any(axis in places for axis in COARSE):
            self.order = []
            for axis in FINE:
                kept.pop(axis, None)
            # A face may be part of a name ("outer pads, left nine, right eight"); a spot is one corner's.
            self.name_places.pop("spot", None)
        for axis in places:
            self.name_places.pop(axis, None)
        self.places = {**kept, **places}
        self.group += 1
        self.content = False

    def note_header(self, places: Places, lasts: int = HEADER_LASTS) -> None:
        """Remember side and axle for what follows, for the next `lasts` parts without a doubt."""
        coarse = {axis: value for axis, value in places.items() if axis in COARSE}
        if coarse:
            same = all(self.header.get(axis) == value for axis, value in coarse.items())
            self.header_lasts = max(lasts, self.header_lasts) if same else lasts
            self.header = {**self.header, **coarse}
            self.header_age = 0

    def explicit(self) -> Places:
        """The places said for this mention."""
        return {**self.name_places, **self.places}

    def position(self, part: Component) -> Position:
        """The place of a statement: what was said for it, side and axle filled from the header."""
        said = self.explicit()
        # An axle alone is not carried over: a rear U-joint has nothing to do with the front hub before it.
        for axis in COARSE[:1] if self.component in _OFF_THE_AXLES else COARSE:
            if axis in self.header and "side" in part.axes:
                said.setdefault(axis, self.header[axis])
        return Position.model_validate(
            {axis: said[axis] for axis in AXES if axis in said and axis in part.axes}
        )


def _applies(label: Label, part: Component) -> bool:
    points = label.axis == "spot" and part.beside is not None
    return label.axis in part.axes and not (points and not label.name.startswith("point"))


def places_of(run: list[Item], part: Component | None) -> Places:
    """The places of a run of place words; words with two meanings are read as the part allows."""
    places: Places = {}
    for item in run:
        labels = [label for label in item.labels if label.kind == "place"]
        fitting = [label for label in labels if part is not None and _applies(label, part)]
        label = (fitting or labels)[0]
        places[label.axis] = label.name
    return places
