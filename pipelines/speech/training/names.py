"""Drawn names of parts with places, values and states: what the sentences of training are made of."""

from collections.abc import Sequence
from random import Random

from models.vocabulary import Component, Vocabulary, load_vocabulary
from pipelines.speech.training.phrases import HEDGES, MISSPELLED, PLACES, SPELLED, TAILS
from pipelines.speech.training.readings import BY_MEASURE, READINGS
from pipelines.speech.training.saying import Said, join, plain


class Names:
    """Draws from the shop's vocabulary with one random generator."""

    def __init__(self, rng: Random, vocabulary: Vocabulary | None = None) -> None:
        """Use the given vocabulary, else the shipped one."""
        self.rng = rng
        self.vocabulary = vocabulary or load_vocabulary()
        self.parts = list(self.vocabulary.components.values())

    def words(self, options: Sequence[str]) -> Said:
        """One of the given ways to say a thing."""
        return spelled(self.rng.choice(_spelled_right(options)))

    def part(self) -> tuple[Component, Said]:
        """A part and a name of it."""
        part = self.rng.choice(self.parts)
        # The usual name comes first in the vocabulary and most often from the mouth.
        words = _spelled_right(part.words)
        name = words[0] if self.rng.random() < 0.4 else self.rng.choice(words)
        return part, spelled(name)

    def place(self, part: Component, most: int = 3) -> Said:
        """A place that the part can have, or no words."""
        axes = [axis for axis in part.axes if PLACES[axis] and axis != "spot"]
        taken = [self.rng.choice(PLACES[axis]) for axis in axes[:most] if self.rng.random() < 0.85]
        if axes[:2] == ["side", "axle"] and self.rng.random() < 0.5:
            taken[:] = [self.rng.choice(("left front", "right front", "left rear", "right rear"))]
        return plain(" ".join(taken))

    def named(self) -> tuple[Component, Said]:
        """A part with its place before, behind or nowhere."""
        part, name = self.part()
        place = self.place(part)
        if not place.say or self.rng.random() < 0.15:
            return part, name
        pieces = (place, name) if self.rng.random() < 0.75 else (name, place)
        return part, join(pieces, self.rng.choice((" ", " ", " ", ", ")) if pieces[0] is name else " ")

    def value(self, part: Component) -> Said:
        """A value of one of its measures, often with the measure or a hedge."""
        rng = self.rng
        measures = [m for m in part.measures if m in BY_MEASURE]
        if not measures:
            return rng.choice(READINGS)(rng)
        measure = rng.choice(measures)
        value = join((rng.choice(BY_MEASURE[measure])(rng), plain(rng.choice(TAILS))), "")
        value = join((plain(rng.choice(HEDGES)), value), "")
        if rng.random() < 0.5:
            name = self.words(self.vocabulary.measures[measure])
            order = (name, value) if rng.random() < 0.6 else (value, name)
            return join(order)
        return value

    def state(self) -> Said:
        """A condition, often with what to do."""
        rng, vocabulary = self.rng, self.vocabulary
        pieces = [self.words(rng.choice(list(vocabulary.conditions.values())))]
        if rng.random() < 0.4:
            pieces.append(self.words(rng.choice(list(vocabulary.actions.values()))))
        return join(pieces, rng.choice((", ", ", ", " and ")))


def _spelled_right(names: Sequence[str]) -> list[str]:
    return [name for name in names if not any(f" {bad} " in f" {name} " for bad in MISSPELLED)]


def spelled(name: str) -> Said:
    """A name of the vocabulary; abbreviations as they are spoken and written."""
    for short in sorted(SPELLED, key=len, reverse=True):
        if name == short or name.startswith(short + " "):
            say, written = SPELLED[short]
            return Said(say + name[len(short) :], written + name[len(short) :], written + name[len(short) :])
    return plain(name)
