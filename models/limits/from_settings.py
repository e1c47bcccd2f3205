"""Limits that follow from what the shop set about its trucks, rather than from a file."""

from fractions import Fraction

from models.limits.rules import Bound, Limit
from models.settings import TruckSettings

_FREEZES = ("coolant", "cooling_system")


def setting_limits(truck: TruckSettings) -> tuple[Limit, ...]:
    """The limits that the settings give: the coolant must not freeze in the coldest weather to be expected.

    Args:
        truck: what the settings say; without ``design_low_degF`` there is no such limit.
    """
    low = truck.design_low_degF
    if low is None:
        return ()
    text = f"{low:g}"
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
            high=Bound(value=Fraction(text), text=text, included=True),
            where="settings.yaml",
        )
        for component in _FREEZES
    )
