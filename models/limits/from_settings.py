"""Limits that follow from what the shop set about its trucks, rather than from a file alone."""

from decimal import Decimal
from fractions import Fraction

from models.limits.rules import Bound, Limit, Limits
from models.settings import TruckSettings
from models.units import plain

_FREEZES = ("coolant", "cooling_system")
_TOE_RULES = ("570-7-toe", "570-60-toe")
_TOE_TIMES = Fraction(3, 2)
_STROKE_RULES = ("396-a-stroke-steering", "396-a-stroke-other")
_STROKE_SHARE = Fraction(4, 5)
_STROKE_NEAR = Fraction(9, 10)


def with_settings(limits: Limits, truck: TruckSettings) -> Limits:
    """The limits, with the numbers that the settings give.

    Coolant must not freeze in the coldest weather to be expected (``design_low_degF``). Toe may be no more
    than 1.5 times what the maker lists (``listed_toe_deg``; 49 CFR 570.7(d) and 570.60(d)). The stroke of a
    pushrod may be 80 % of the stroke marked on its actuator (``rated_stroke_steering_in`` and
    ``rated_stroke_other_in``; Appendix A to 49 CFR Part 396, 1.a(5)).

    Args:
        limits: as loaded.
        truck: what the settings say.
    """
    given = _given(truck)
    more = _design_low(truck)
    if not given and not more:
        return limits
    return Limits((*(_with_number(r, given[r.id]) if r.id in given else r for r in limits.rules), *more))


def _given(truck: TruckSettings) -> dict[str, dict[str, Bound | Fraction]]:
    """The ends of the rules whose number the shop gives, by the rule's id."""
    found: dict[str, dict[str, Bound | Fraction]] = {}
    if truck.listed_toe_deg is not None:
        most = abs(_exact(truck.listed_toe_deg)) * _TOE_TIMES
        found |= {id: {"low": _end(-most), "high": _end(most)} for id in _TOE_RULES}
    for id, rated in zip(
        _STROKE_RULES, (truck.rated_stroke_steering_in, truck.rated_stroke_other_in), strict=True
    ):
        if rated is not None:
            most = _exact(rated) * _STROKE_SHARE
            found[id] = {"high": _end(most), "near_high": most * _STROKE_NEAR}
    return found


def _end(value: Fraction) -> Bound:
    return Bound(value=value, text=plain(value), included=True)


def _exact(number: float) -> Fraction:
    """A setting as it was written: 0.1 is a tenth."""
    return Fraction(Decimal(str(number)))


def _design_low(truck: TruckSettings) -> tuple[Limit, ...]:
    if truck.design_low_degF is None:
        return ()
    low = _exact(truck.design_low_degF)
    return tuple(
        Limit(
            id=f"setting-design-low-{component.replace('_', '-')}",
            component=component,
            measure="freeze_point",
            subject="freeze point against the coldest weather to be expected here",
            kind="shop rule",
            source="design_low_degF in the shop's settings",
            seen="not published",
            jurisdiction="none",
            as_of="as set",
            unit="[degF]",
            high=_end(low),
            where="settings.yaml",
        )
        for component in _FREEZES
    )


def _with_number(rule: Limit, ends: dict[str, Bound | Fraction]) -> Limit:
    """The rule with its number; it is built anew, because a copy would keep sentences made without it."""
    fields = {name: getattr(rule, name) for name in Limit.model_fields}
    return Limit.model_validate({**fields, **ends, "undefined": None})
