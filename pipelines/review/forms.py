"""Reading what a reviewer typed: a whole finding, checked field by field."""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from uuid import uuid4

from models.frozen import Frozen
from models.places import AXES, Position
from models.record import Finding, Reading
from pipelines.review.choices import choices
from pipelines.review.words import unit_words, words_of

_DECIMAL = re.compile(r"-?[0-9]{1,9}(\.[0-9]{1,6})?")
_FRACTION = re.compile(r"(?:([0-9]{1,6}) +)?([0-9]{1,4})/([0-9]{1,4})")
LONGEST_REASON = 500


class Mistake(Frozen):
    """What is wrong with one field, in a sentence that says what to do."""

    field: str
    sentence: str


class Filled(Frozen):
    """A form read: the finding, or what is wrong with the form."""

    finding: Finding | None = None
    reason: str = ""
    mistakes: tuple[Mistake, ...] = ()


def exact_number(text: str) -> Decimal | None:
    """A typed number with exactly its digits; None when it is none.

    Also takes fractions with an exact decimal form, whole part before a space: ``7/32``, ``142 3/16``.
    """
    text = text.strip()
    if _DECIMAL.fullmatch(text):
        return Decimal(text)
    found = _FRACTION.fullmatch(text)
    if found is None or int(found[3]) == 0:
        return None
    value = int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    return decimal if Fraction(decimal) == value else None


def read_reason(form: Mapping[str, str]) -> tuple[str, list[Mistake]]:
    """The reason, one line, and what is wrong with it."""
    reason = " ".join(form.get("reason", "").split())
    if not reason:
        return "", [
            Mistake(field="reason", sentence="Say why, in a few words: the reason stays in the history.")
        ]
    if len(reason) > LONGEST_REASON:
        return "", [Mistake(field="reason", sentence=f"Keep the reason under {LONGEST_REASON} characters.")]
    return reason, []


def _pick(form: Mapping[str, str], field: str, allowed: tuple[str, ...]) -> tuple[str | None, list[Mistake]]:
    value = form.get(field, "")
    if not value:
        return None, []
    if value not in allowed:
        return None, [Mistake(field=field, sentence=f"Choose the {words_of(field)} from the list.")]
    return value, []


def _several(form: Mapping[str, str], allowed: tuple[str, ...]) -> tuple[tuple[str, ...], list[Mistake]]:
    chosen = tuple(value for value in form.get("conditions", "").split(" ") if value)
    if any(value not in allowed for value in chosen):
        return (), [Mistake(field="conditions", sentence="Choose the conditions from the list.")]
    return tuple(dict.fromkeys(chosen)), []


def _place(form: Mapping[str, str]) -> tuple[Position, list[Mistake]]:
    keys: dict[str, str | int] = {}
    mistakes = []
    for axis in AXES:
        value, wrong = _pick(form, axis, choices().places[axis])
        mistakes += wrong
        if value:
            keys[axis] = int(value) if axis == "index" else value
    return Position().with_keys(**keys), mistakes


def _reading(form: Mapping[str, str], base: Finding | None) -> tuple[Reading | None, list[Mistake]]:
    typed = form.get("value", "").strip()
    measure, wrong = _pick(form, "measure", choices().measures)
    unit, more = _pick(form, "unit", choices().all_units())
    if wrong or more:
        return None, wrong + more
    if measure is None:
        if typed:
            return None, [
                Mistake(field="measure", sentence="Say what was measured, or leave the value empty.")
            ]
        return None, []
    value = exact_number(typed)
    if value is None:
        sentence = (
            "Write the value as a number with a point, such as 6.5, or an exact fraction, such as 7/32."
        )
        return None, [Mistake(field="value", sentence=sentence)]
    if unit not in choices().units[measure]:
        fitting = ", ".join(unit_words(code) for code in choices().units[measure])
        sentence = f"Choose a unit that fits {words_of(measure)}: {fitting}."
        return None, [Mistake(field="unit", sentence=sentence)]
    old = base.reading if base else None
    if old is not None and (old.measure, old.unit) == (measure, unit) and f"{old.value:f}" == f"{value:f}":
        return old, []  # untouched: keep how it was said
    given = f"{typed} {unit_words(unit)}, entered by the reviewer"
    return Reading(measure=measure, value=value, unit=unit, as_given=given), []


def read_finding(form: Mapping[str, str], base: Finding | None) -> Filled:
    """A finding as a reviewer corrected or added it.

    Args:
        form: field -> text; several conditions are separated by one space.
        base: the finding that is corrected; None for one added by hand.
    """
    component, mistakes = _pick(form, "component", choices().components)
    if component is None and not mistakes:
        mistakes = [Mistake(field="component", sentence="Choose the part this is about.")]
    position, wrong = _place(form)
    reading, wrong_reading = _reading(form, base)
    conditions, wrong_conditions = _several(form, choices().conditions)
    action, wrong_action = _pick(form, "action", choices().actions)
    reason, wrong_reason = read_reason(form)
    mistakes += wrong + wrong_reading + wrong_conditions + wrong_action + wrong_reason
    if not mistakes and reading is None and not conditions and action is None:
        sentence = "Give a measured value, a condition or an action: a finding must say something."
        mistakes = [Mistake(field="value", sentence=sentence)]
    if mistakes:
        return Filled(reason=reason, mistakes=tuple(mistakes))
    start = base or Finding(id=str(uuid4()), component=None, confidence=1.0)
    same_claim = (start.component, start.position, start.reading) == (component, position, reading)
    update = {
        "component": component,
        "position": position,
        "reading": reading,
        "conditions": conditions,
        "action": action,
        "confidence": 1.0,
        "verdict": start.verdict if same_claim else None,  # it was drawn for what stood here before
        "review": None,
    }
    finding = start.model_copy(update=update)
    if base is not None and _same(finding, base):
        sentence = "Nothing is different from what stands there: confirm it instead."
        return Filled(reason=reason, mistakes=(Mistake(field="value", sentence=sentence),))
    return Filled(finding=finding, reason=reason)


def _same(one: Finding, other: Finding) -> bool:
    def said(finding: Finding) -> tuple[object, ...]:
        number = finding.reading
        exact = (number.measure, f"{number.value:f}", number.unit) if number else None
        return finding.component, finding.position, exact, set(finding.conditions), finding.action

    return [*said(one)] == [*said(other)]


def filled_from(finding: Finding | None) -> dict[str, str]:
    """A form's fields as they stand before anyone types; measure and value empty without a number."""
    if finding is None:
        return {}
    fields = {
        "component": finding.component or "",
        "conditions": " ".join(finding.conditions),
        "action": finding.action or "",
    }
    fields |= {axis: str(value) for axis, value in finding.position.keys().items()}
    if (reading := finding.reading) is not None:
        fields |= {"measure": reading.measure, "value": f"{reading.value:f}", "unit": reading.unit}
    return fields
