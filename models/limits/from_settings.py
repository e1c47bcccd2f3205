"""Limits that follow from what the shop set about its trucks, rather than from a file alone."""

from decimal import Decimal
from fractions import Fraction

from models.limits.rules import Bound, Limit, Limits
from models.settings import TruckSettings
from models.units import plain

_FREEZES = ("coolant", "cooling_system")
_TOE_RULES = ("570-7-toe", "570-60-toe")
_TOE_TIMES = Fraction(3, 2)


def with_settings(limits: Limits, truck: TruckSettings) -> Limits:
    """The limits, with the numbers that the settings give.

    Coolant must not freeze in the coldest weather to be expected (``design_low_degF``). Toe may be no more
    than 1.5 times what the maker lists (``listed_toe_deg``; 49 CFR 570.7(d) and 570.60(d)).

    Args:
        limits: as loaded.
        truck: what the settings say.
    """
    more = _design_low(truck)
    toe = truck.listed_toe_deg
    if toe is None and not more:
        return limits
    rules = [_toe(r, toe) if toe is not None and r.id in _TOE_RULES else r for r in limits.rules]
    return Limits((*rules, *more))


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
            high=Bound(value=low, text=plain(low), included=True),
            where="settings.yaml",
        )
        for component in _FREEZES
    )


def _toe(rule: Limit, listed: float) -> Limit:
    """The rule with its number; it is built anew, because a copy would keep sentences made without it."""
    most = abs(_exact(listed)) * _TOE_TIMES
    fields = {name: getattr(rule, name) for name in Limit.model_fields}
    ends = {
        "low": Bound(value=-most, text=plain(-most), included=True),
        "high": Bound(value=most, text=plain(most), included=True),
    }
    return Limit.model_validate({**fields, **ends, "undefined": None})
