"""From one entry of a limits file to one checked limit."""

import re
from fractions import Fraction
from typing import Any, get_args

from models.limits.facts import FACTS, PLAY_DIRECTIONS, Condition
from models.limits.rules import KINDS, Bound, Limit, Quantity, Seen
from models.limits.yaml_nodes import Entry
from models.measures import DIFFERENCES, DIMENSIONS
from models.units import UNITS, dimension_fits, unit
from models.vocabulary import Vocabulary

HEADER = ("kind", "source", "seen", "jurisdiction", "as_of", "near", "unit")
_NEEDED = ("kind", "source", "seen", "jurisdiction", "as_of", "component", "measure", "subject", "id", "unit")
_ENDS = {
    "at least": ("low", True),
    "more than": ("low", False),
    "at most": ("high", True),
    "less than": ("high", False),
}
_OTHER = ("of", "when", "near", "rim_angle", "over", "refinish", "undefined")
_PLAYS = ("play", *PLAY_DIRECTIONS)
_OF_MEASURES: dict[str, tuple[str, ...]] = {
    "inner_outer_difference": ("thickness",),
    "left_right_difference": ("thickness",),
    "pressure_lost": ("pressure_after_hold",),
    "diagonal_difference": ("diagonal",),
    "sum_of_two": _PLAYS,
    "under_load": ("voltage",),
}
_PATTERN = re.compile(r"[A-Z0-9*?][A-Z0-9 *?-]*")
_VIN_LENGTH = 17
_NUMBER = re.compile(r"-?\d+(\.\d+)?|-?(\d+ )?\d+/[1-9]\d*")

Fields = dict[str, Entry]


def exact_number(entry: Entry) -> Fraction:
    """The number of a scalar: ``0.030``, ``3/16`` or ``4 1/4``, with nothing rounded.

    Raises:
        LimitsError: it is no number.
    """
    text = entry.text()
    if not _NUMBER.fullmatch(text):
        raise entry.fail(f"'{text}' is not a number; write it like 0.030, 3/16 or 4 1/4")
    whole, _, part = text.rpartition(" ")
    if not whole:
        return Fraction(part)
    return Fraction(whole) + (Fraction(part) if not whole.startswith("-") else -Fraction(part))


def _one_of(entry: Entry, allowed: tuple[str, ...], what: str) -> str:
    text = entry.text()
    if text not in allowed:
        raise entry.fail(f"'{text}' is not a {what}; use one of: {', '.join(allowed)}")
    return text


def _ends(fields: Fields) -> dict[str, Any]:
    """The lower and the upper end among the fields, as (entry, included)."""
    found: dict[str, Any] = {}
    for words, (end, included) in _ENDS.items():
        if words in fields:
            if end in found:
                raise fields[words].fail(
                    f"there are two {'lower' if end == 'low' else 'upper'} ends; keep one"
                )
            found[end] = (fields[words], included)
    return found


def _number_condition(name: str, entry: Entry) -> Condition:
    if not entry.is_map():
        return Condition(fact=name, values=tuple(exact_number(e) for e in entry.items()))
    fields = entry.fields()
    strange = set(fields) - set(_ENDS) - {"not"}
    if strange or not fields:
        raise entry.fail(f"'{name}' takes {', '.join(_ENDS)} and not, and at least one of them")
    found: dict[str, Any] = {}
    for end, (number, included) in _ends(fields).items():
        found |= {end: exact_number(number), f"{end}_included": included}
    excluded = tuple(exact_number(e) for e in fields["not"].items()) if "not" in fields else ()
    return Condition(fact=name, excluded=excluded, **found)


def _pattern(name: str, entry: Entry) -> str:
    """A pattern of units or VINs, in capitals."""
    text = entry.text().upper()
    if not _PATTERN.fullmatch(text):
        raise entry.fail(
            f"'{text}' is no pattern; write letters, digits and hyphens, * for any and ? for one"
        )
    if name == "vin" and (set(text) & set("IOQ- ") or len(text.replace("*", "")) > _VIN_LENGTH):
        raise entry.fail(f"'{text}' fits no VIN: those have {_VIN_LENGTH} characters without I, O and Q")
    return text


def fact_condition(name: str, entry: Entry) -> Condition:
    """What one fact of :data:`FACTS` must be, from its entry.

    Raises:
        LimitsError: there is no such fact, or it cannot be that.
    """
    if name not in FACTS:
        raise entry.fail(f"'{name}' is not something a limit can depend on; known: {', '.join(FACTS)}")
    values = FACTS[name].values
    if FACTS[name].named:
        return Condition(fact=name, patterns=tuple(_pattern(name, e) for e in entry.items()))
    if not values:
        return _number_condition(name, entry)
    return Condition(fact=name, choices=tuple(_one_of(e, values, f"value of {name}") for e in entry.items()))


def _conditions(fields: Fields, measure: str) -> tuple[Condition, ...]:
    found = [fact_condition(n, e) for n, e in fields["when"].fields().items()] if "when" in fields else []
    if measure in PLAY_DIRECTIONS:
        found.append(Condition(fact="direction", choices=(PLAY_DIRECTIONS[measure],)))
    return tuple(found)


def _bounds(entry: Entry, fields: Fields) -> dict[str, Any]:
    ends = _ends(fields)
    if "undefined" in fields:
        if ends:
            raise entry.fail("a limit is either undefined or has a number; keep one")
        return {"undefined": fields["undefined"].text()}
    if not ends:
        raise entry.fail(f"the limit itself is missing; write one of: {', '.join(_ENDS)}")
    bounds = {
        end: Bound(value=exact_number(number), text=number.text(), included=included)
        for end, (number, included) in ends.items()
    }
    if len(bounds) == 2 and bounds["low"].value > bounds["high"].value:
        raise entry.fail("the lower end is above the upper end; exchange them")
    return bounds


def _near(fields: Fields, bounds: dict[str, Any], percent_ok: bool) -> dict[str, Fraction]:
    """Where "near limit" begins: a share of the limit, or a distance in the limit's unit."""
    if "near" not in fields or fields["near"].text() == "none" or "undefined" in bounds:
        return {}
    entry = fields["near"]
    text = entry.text()
    share = re.fullmatch(r"(\d+(?:\.\d+)?) ?%", text)
    if share and not percent_ok:
        raise entry.fail(
            "a share of a temperature has no meaning; give near as a number of degrees or as none"
        )
    distance = None if share else exact_number(entry)
    found = {}
    for end, sign in (("low", 1), ("high", -1)):
        if end in bounds:
            limit: Fraction = bounds[end].value
            step = abs(limit) * Fraction(share[1]) / 100 if share else distance
            if step is not None and step > 0:
                found[f"near_{end}"] = limit + sign * step
    return found


def _refinish_zone(special: dict[str, Any], bounds: dict[str, Any]) -> dict[str, Fraction]:
    """What may stay but not be refinished is near its limit, whatever ``near`` says."""
    if "refinish" not in special:
        return {}
    return {f"near_{end}": special["refinish"].value for end in ("low", "high") if end in bounds}


def _unit(fields: Fields, measure: str, rim_angle: bool) -> str:
    code = _one_of(fields["unit"], tuple(UNITS), "UCUM code that records use")
    dimension = "angle" if rim_angle else DIMENSIONS[measure]
    if not dimension_fits(dimension, code):
        fitting = ", ".join(c for c in UNITS if dimension_fits(dimension, c))
        raise fields["unit"].fail(
            f"'{code}' does not measure {measure} ({dimension.replace('_', ' ')}); use one of: {fitting}"
        )
    return code


def _seconds(entry: Entry) -> Fraction:
    """A duration such as ``2 min``."""
    number, _, code = entry.text().partition(" ")
    if not re.fullmatch(r"\d+(\.\d+)?", number) or code not in ("s", "min", "h"):
        raise entry.fail(f"'{entry.text()}' is not a duration; write it like 2 min")
    return Fraction(number) * unit(code).factor


def _special(entry: Entry, fields: Fields, measure: str, of: str) -> dict[str, Any]:
    """The fields that only some limits have."""
    found: dict[str, Any] = {}
    if "rim_angle" in fields:
        if measure != "free_play" or _one_of(fields["rim_angle"], ("true", "false"), "choice") == "false":
            raise fields["rim_angle"].fail("rim_angle: true belongs to free_play of a steering wheel only")
        found["rim_angle"] = True
    if of == "pressure_lost":
        if "over" not in fields:
            raise entry.fail("a loss of pressure needs its duration; add over: 2 min")
        found["over_s"] = _seconds(fields["over"])
    elif "over" in fields:
        raise fields["over"].fail("over belongs to of: pressure_lost only")
    if "refinish" in fields:
        if measure not in ("thickness", "inside_diameter"):
            raise fields["refinish"].fail("refinish belongs to thickness and inside_diameter only")
        number = fields["refinish"]
        found["refinish"] = Bound(value=exact_number(number), text=number.text(), included=False)
    return found


def _checked_names(fields: Fields, vocabulary: Vocabulary) -> tuple[list[str], str, Quantity]:
    components = []
    for part in fields["component"].items():
        if part.text() not in vocabulary.components:
            raise part.fail(
                f"'{part.text()}' is not a part of the vocabulary; use an identifier under components"
            )
        components.append(part.text())
    measure = fields["measure"].text()
    if measure not in vocabulary.measures or measure not in DIMENSIONS:
        raise fields["measure"].fail(
            f"'{measure}' is not a measure of the vocabulary; use one under measures"
        )
    for component, part in zip(components, fields["component"].items(), strict=True):
        measured = vocabulary.components[component].measures
        if measure not in measured and not (measure in _PLAYS and set(measured) & set(_PLAYS)):
            has = f"use one of: {', '.join(measured)}" if measured else "nothing is"
            raise part.fail(f"{measure} is not measured on a {component}, so the limit never speaks; {has}")
    of: Any = "reading"
    if "of" in fields:
        of = _one_of(fields["of"], get_args(Quantity), "computed quantity")
        if measure not in _OF_MEASURES.get(of, (measure,)):
            raise fields["of"].fail(
                f"{of} is computed from {' or '.join(_OF_MEASURES[of])}, not from {measure}"
            )
    return components, measure, of


def read_limit(entry: Entry, header: Fields, vocabulary: Vocabulary) -> list[Limit]:
    """The limits of one entry: one for each part it names.

    Args:
        entry: the entry under ``limits:``.
        header: fields of the file that hold for every entry without its own.
        vocabulary: the identifiers that exist.

    Raises:
        LimitsError: a field is missing, unknown or does not fit the others.
    """
    own = entry.fields()
    fields = header | own
    strange = [n for n in own if n not in (*HEADER, *_NEEDED, *_ENDS, *_OTHER)]
    if strange:
        raise own[strange[0]].fail(f"'{strange[0]}' is not a field of a limit; remove it or correct its name")
    missing = [n for n in _NEEDED if n not in fields]
    if missing:
        raise entry.fail(f"'{missing[0]}' is missing; add it to the limit or to the head of the file")
    components, measure, of = _checked_names(fields, vocabulary)
    special = _special(entry, fields, measure, of)
    code = _unit(fields, measure, special.get("rim_angle", False))
    bounds = _bounds(entry, fields)
    percent_ok = unit(code).offset == 0 or measure in DIFFERENCES
    common: dict[str, Any] = {
        "measure": measure,
        "of": of,
        "subject": fields["subject"].text(),
        "kind": _one_of(fields["kind"], KINDS, "kind of limit"),
        "source": fields["source"].text(),
        "seen": _one_of(fields["seen"], get_args(Seen), "place where a number was read"),
        "jurisdiction": fields["jurisdiction"].text(),
        "as_of": fields["as_of"].text(),
        "when": _conditions(fields, measure),
        "unit": code,
        "where": entry.where,
        **special,
        **bounds,
        **_near(fields, bounds, percent_ok),
        **_refinish_zone(special, bounds),
    }
    name = fields["id"].text()
    ids = [name] if len(components) == 1 else [f"{name}-{part.replace('_', '-')}" for part in components]
    return [Limit(id=i, component=part, **common) for i, part in zip(ids, components, strict=True)]
