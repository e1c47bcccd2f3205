"""The shop's language: identifiers, how they are said, and what can plausibly be measured."""

from decimal import Decimal
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from models.frozen import Frozen
from models.places import AXES
from models.units import UNITS
from models.yaml_file import YamlError, faults, read_yaml_file

Range = tuple[Decimal, Decimal]


class VocabularyError(ValueError):
    """config/vocabulary.yaml cannot be used; the message says where and why."""


class Component(Frozen):
    """A part of a truck.

    Attributes:
        axes: the place words that apply to it.
        words: how it is said.
        sounds: what a recogniser tends to write for it.
        beside: the part that "inner" and "outer" are of when this one was named last, whose spots are points.
        fluid: other parts leak it or are covered with it.
        partner: the part that this one is read together with; behind it a ``short`` name is enough.
        short: names that stand for this part where its partner was read.
        implies: places that a name says by itself.
        measures: what is measured on it, the usual one first: measure -> UCUM code -> plausible range.
    """

    axes: tuple[str, ...] = ()
    words: tuple[str, ...]
    sounds: tuple[str, ...] = ()
    beside: str | None = None
    fluid: bool = False
    partner: str | None = None
    short: tuple[str, ...] = ()
    implies: dict[str, dict[str, str]] = Field(default_factory=dict)
    measures: dict[str, dict[str, Range]] = Field(default_factory=dict)


Words = dict[str, tuple[str, ...]]


class Vocabulary(Frozen):
    """Everything that may stand in a record, and the words for it.

    Attributes:
        language: two-letter code.
        areas: words that hold a place for the parts that follow ("left front brakes").
        fillers: words without a meaning of their own: plain, small, pointing.
        action_verbs: verbs that name an action, each as do, doing and done.
        action_parts: the parts that an action is known of, where it is not all of them.
        action_ways: how such a verb is said, with ``{do}``, ``{doing}`` or ``{done}`` in its place.
        cues: words that steer the reading: corrections, repetitions, hedges, asides.
        anywhere: what may be measured on any part when it is named, or its unit is said.
    """

    language: str
    components: dict[str, Component]
    anywhere: dict[str, dict[str, Range]] = Field(default_factory=dict)
    areas: tuple[str, ...] = ()
    measures: Words
    conditions: Words
    condition_sounds: Words = Field(default_factory=dict)
    actions: Words
    action_verbs: dict[str, tuple[tuple[str, str, str], ...]] = Field(default_factory=dict)
    action_parts: Words = Field(default_factory=dict)
    action_ways: tuple[str, ...] = ()
    places: dict[str, Words]
    place_sounds: dict[str, Words] = Field(default_factory=dict)
    cues: Words
    fillers: Words

    def plausible(self, component: str, measure: str, unit: str) -> Range | None:
        """The range of values that such a reading can have, in `unit`; None when nothing is known."""
        part = self.components.get(component)
        ranges = part.measures.get(measure) or self.anywhere.get(measure, {}) if part else {}
        return ranges.get(unit)

    def broadly(self, part: Component) -> Component:
        """The part with all that may be measured on it, what is usual first."""
        beyond = {name: ranges for name, ranges in self.anywhere.items() if name not in part.measures}
        return part.model_copy(update={"measures": {**part.measures, **beyond}})

    def action_phrases(self) -> Words:
        """All that is said for each action."""
        said = {name: list(phrases) for name, phrases in self.actions.items()}
        for name, verbs in self.action_verbs.items():
            for do, doing, done in verbs:
                said[name] += [way.format(do=do, doing=doing, done=done) for way in self.action_ways]
        return {name: tuple(dict.fromkeys(phrases)) for name, phrases in said.items()}

    def label(self, identifier: str) -> str:
        """The identifier in plain words."""
        return identifier.replace("_", " ")


def _check_parts(vocabulary: Vocabulary, path: Path) -> None:
    for name, part in vocabulary.components.items():
        for axis in part.axes:
            if axis not in AXES:
                raise VocabularyError(f"{path}: components.{name}.axes: '{axis}' is not a place; use {AXES}")
        for key, other in (("beside", part.beside), ("partner", part.partner)):
            if other is not None and other not in vocabulary.components:
                raise VocabularyError(f"{path}: components.{name}.{key}: '{other}' is not a component")
        _check_measures(vocabulary, part.measures, f"{path}: components.{name}.measures")
    _check_measures(vocabulary, vocabulary.anywhere, f"{path}: anywhere")


def _check_measures(vocabulary: Vocabulary, measures: dict[str, dict[str, Range]], where: str) -> None:
    for measure, ranges in measures.items():
        if measure not in vocabulary.measures:
            raise VocabularyError(f"{where}: '{measure}' is not under measures")
        for unit, (low, high) in ranges.items():
            if unit not in UNITS or low >= high:
                raise VocabularyError(f"{where}.{measure}: bad range in '{unit}'")


def _check_actions(vocabulary: Vocabulary, path: Path) -> None:
    for way in vocabulary.action_ways:
        try:
            way.format(do="", doing="", done="")
        except (KeyError, ValueError, IndexError):
            raise VocabularyError(
                f"{path}: action_ways: '{way}' may hold {{do}}, {{doing}} or {{done}} and no other braces"
            ) from None
    for key, names in (("action_verbs", vocabulary.action_verbs), ("action_parts", vocabulary.action_parts)):
        for name in names:
            if name not in vocabulary.actions:
                raise VocabularyError(f"{path}: {key}.{name}: '{name}' is not under actions")


def _read(path: Path) -> dict[str, Any]:
    try:
        data = read_yaml_file(path)
    except YamlError as error:
        raise VocabularyError(str(error)) from None
    if not isinstance(data, dict):
        raise VocabularyError(f"{path} must hold 'name: value' lines")
    return data


@lru_cache(maxsize=4)
def load_vocabulary(path: Path | None = None) -> Vocabulary:
    """The vocabulary of a file, by default the shipped one; checked.

    Raises:
        VocabularyError: the file is not YAML, or names a place, measure or unit that does not exist.
    """
    path = path or Path(str(files("config") / "vocabulary.yaml"))
    try:
        vocabulary = Vocabulary.model_validate(_read(path))
    except ValidationError as error:
        raise VocabularyError(f"{path}: {faults(error)}") from None
    _check_parts(vocabulary, path)
    _check_actions(vocabulary, path)
    return vocabulary
