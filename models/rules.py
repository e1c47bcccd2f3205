"""Rules that combine what was found into a suggestion. Read from config/rules.yaml.

An entry names what must be found and what is then suggested::

    - id: hub-growl
      sentence: A hub bearing that growls is replaced.     # the report prints it
      kind: common practice                                # or shop rule, maker, regulation
      source: common practice of the trade, no published source
      when:                                                # all of it, of one finding
        component: hub_bearing                             # one part or a list
        condition: noise                                   # any of a list
        measure: play                                      # a reading of it beyond ...
        more than: 0                                       # ... this (or at least)
        unit: "[in_i]"
        words: [moves the camber]                          # any of these was said of the part in its note
        moves: [camber, toe]                               # read twice, differently, at the wheel there
        truck: {hub_bearings: sealed}                      # as under when: of a limit
      then:
        component: brake_rotor                             # by default the finding's own part
        same: [side, axle]                                 # places that must be the same
        action: resurface
        too thin: replace                                  # when the limit leaves nothing to resurface
"""

import re
from fractions import Fraction
from importlib.resources import files
from pathlib import Path
from typing import get_args

from pydantic import ConfigDict

from models.frozen import Frozen
from models.limits.facts import Condition
from models.limits.reader import exact_number, fact_condition
from models.limits.rules import Kind
from models.limits.yaml_nodes import Entry, read_yaml
from models.measures import DIMENSIONS
from models.places import AXES
from models.units import UNITS, dimension_fits
from models.vocabulary import Vocabulary, load_vocabulary

_RULE = ("id", "sentence", "kind", "source", "when", "then")
_WHEN = ("component", "condition", "measure", "more than", "at least", "unit", "words", "moves", "truck")
_THEN = ("component", "same", "action", "too thin")
_MOVABLE = ("camber", "toe", "caster")

_Fields = dict[str, Entry]


class Beyond(Frozen):
    """A reading that counts.

    Attributes:
        measure: identifier of the vocabulary; ``play`` stands for play in any direction.
        value: in ``unit``.
        included: the value itself counts.
        unit: UCUM code.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    measure: str
    value: Fraction
    included: bool
    unit: str


class Trigger(Frozen):
    """What one finding must be for a rule to speak; everything that is given must hold.

    Attributes:
        components: any of these parts.
        conditions: any of these; empty: no matter.
        beyond: a reading; None: no matter.
        words: any of these stands in what was heard of the same part and place in the same note, in small
            letters; empty: no matter.
        moves: one of these was read twice, differently, at a wheel of the same side; empty: no matter.
        truck: what must be true of the truck.
    """

    components: tuple[str, ...]
    conditions: tuple[str, ...] = ()
    beyond: Beyond | None = None
    words: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()
    truck: tuple[Condition, ...] = ()


class Rule(Frozen):
    """One rule.

    Attributes:
        id: unique.
        sentence: the rule in words that can be printed.
        kind: who says so.
        source: citation.
        when: what must be found.
        component: the part that the suggestion is about; None: the finding's own.
        same: places that the part must share with the finding.
        action: what is suggested.
        too_thin: what is suggested instead where nothing is left to resurface.
        where: file and line it was read from.
    """

    id: str
    sentence: str
    kind: Kind
    source: str
    when: Trigger
    component: str | None = None
    same: tuple[str, ...] = ()
    action: str
    too_thin: str | None = None
    where: str


Rules = tuple[Rule, ...]


def plain_words(text: str) -> str:
    """A text in small letters with one space round every word, so that whole phrases can be looked for."""
    return f" {' '.join(re.findall(r'[a-z0-9]+', text.casefold()))} "


def _words(fields: _Fields, name: str, allowed: tuple[str, ...], where: str) -> tuple[str, ...]:
    """The identifiers of a list or of a single scalar, checked; empty without the field."""
    if name not in fields:
        return ()
    found = []
    for item in fields[name].items():
        if item.text() not in allowed:
            raise item.fail(f"'{item.text()}' is not {where}; use an identifier of those")
        found.append(item.text())
    return tuple(found)


def _one(fields: _Fields, name: str, allowed: tuple[str, ...], where: str) -> str | None:
    found = _words(fields, name, allowed, where)
    if len(found) > 1:
        raise fields[name].fail(f"'{name}' takes one word; keep one")
    return found[0] if found else None


def _beyond(entry: Entry, fields: _Fields) -> Beyond | None:
    given = [n for n in ("measure", "more than", "at least", "unit") if n in fields]
    if not given:
        return None
    ends = [n for n in ("more than", "at least") if n in fields]
    if len(ends) != 1 or "measure" not in fields or "unit" not in fields:
        raise entry.fail(
            "a reading takes measure, unit, and either 'more than' or 'at least'; add what is missing"
        )
    measure = _one(fields, "measure", tuple(DIMENSIONS), "a measure of the vocabulary")
    code = fields["unit"].text()
    if measure is None or code not in UNITS or not dimension_fits(DIMENSIONS[measure], code):
        raise fields["unit"].fail(
            f"'{code}' does not measure {measure}; write the UCUM code of a fitting unit"
        )
    end = ends[0]
    return Beyond(measure=measure, value=exact_number(fields[end]), included=end == "at least", unit=code)


def _phrases(fields: _Fields) -> tuple[str, ...]:
    phrases = [plain_words(item.text()) for item in fields["words"].items()] if "words" in fields else []
    for phrase in phrases:
        if not phrase.strip():
            raise fields["words"].fail("a phrase must hold letters or digits; correct or remove it")
    return tuple(phrases)


def _trigger(entry: Entry, vocabulary: Vocabulary) -> Trigger:
    fields = entry.only(_WHEN, ("component",), "when: of a rule")
    trigger = Trigger(
        components=_words(fields, "component", tuple(vocabulary.components), "a part of the vocabulary"),
        conditions=_words(fields, "condition", tuple(vocabulary.conditions), "a condition of the vocabulary"),
        beyond=_beyond(entry, fields),
        words=_phrases(fields),
        moves=_words(fields, "moves", _MOVABLE, "something that play can move"),
        truck=tuple(fact_condition(n, e) for n, e in fields["truck"].fields().items())
        if "truck" in fields
        else (),
    )
    if not (trigger.conditions or trigger.beyond or trigger.words or trigger.moves):
        raise entry.fail(
            "the rule would speak of every such part; add a condition, a measure, words or moves"
        )
    return trigger


def _rule(entry: Entry, vocabulary: Vocabulary) -> Rule:
    fields = entry.only(_RULE, _RULE, "a rule")
    then = fields["then"].only(_THEN, ("action",), "then: of a rule")
    kind = fields["kind"].text()
    if kind not in get_args(Kind):
        raise fields["kind"].fail(f"'{kind}' is not a kind of rule; use one of: {', '.join(get_args(Kind))}")
    actions, parts = tuple(vocabulary.actions), tuple(vocabulary.components)
    return Rule.model_validate(
        {
            "id": fields["id"].text(),
            "sentence": fields["sentence"].text(),
            "kind": kind,
            "source": fields["source"].text(),
            "when": _trigger(fields["when"], vocabulary),
            "component": _one(then, "component", parts, "a part of the vocabulary"),
            "same": _words(then, "same", AXES, "a place"),
            "action": _one(then, "action", actions, "an action of the vocabulary"),
            "too_thin": _one(then, "too thin", actions, "an action of the vocabulary"),
            "where": entry.where,
        }
    )


def _read(path: Path, vocabulary: Vocabulary) -> tuple[dict[str, Rule], list[Entry]]:
    """The rules of a file by id, and the ids that it switches off."""
    fields = read_yaml(path).only(("rules", "off"), (), "a file of rules")
    found: dict[str, Rule] = {}
    for entry in fields["rules"].items() if "rules" in fields else ():
        rule = _rule(entry, vocabulary)
        if rule.id in found:
            raise entry.fail(f"the id '{rule.id}' is already used at {found[rule.id].where}; give it its own")
        found[rule.id] = rule
    return found, list(fields["off"].items()) if "off" in fields else []


def load_rules(path: Path | None = None, *, own: Path | None = None) -> Rules:
    """The shipped rules, with the shop's own over them, checked.

    Args:
        path: by default the shipped file.
        own: the shop's file; one that does not exist counts as empty. A rule of the same id there replaces a
            shipped one; ids under ``off:`` are left out.

    Raises:
        ConfigError: a file is not usable; the message says which line of it and what to do.
    """
    vocabulary = load_vocabulary()
    rules, off = _read(path or Path(str(files("config") / "rules.yaml")), vocabulary)
    if own is not None and own.exists():
        more, off = _read(own, vocabulary)
        rules |= more
    for entry in off:
        if entry.text() not in rules:
            raise entry.fail(f"there is no rule '{entry.text()}' to switch off; correct or remove it")
        del rules[entry.text()]
    return tuple(rules.values())
