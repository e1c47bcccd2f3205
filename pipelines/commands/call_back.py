"""The call-back list on a terminal: what must be measured again and what is missing, in a few lines."""

from models.record import PlanItem, Record

_MOST_AGAIN = 12


def call_back_lines(record: Record) -> list[str]:
    """The call-back list of a record, one line for each doubt and one for each stop with something missing.

    Args:
        record: a draft whose plan was checked.
    """
    again = [item for item in record.call_back if item.state == "measure again"]
    missing: dict[str, list[str]] = {}
    for item in record.call_back:
        if item.state == "missing":
            missing.setdefault(item.stop, []).append(_short(item))
    lines = []
    if again:
        lines.append(f"Measure or say again ({len(again)}):")
        lines += [f"  {item.words()}: {item.why}" for item in again[:_MOST_AGAIN]]
        if len(again) > _MOST_AGAIN:
            lines.append(f"  and {len(again) - _MOST_AGAIN} more")
    if missing:
        lines.append(f"Still missing ({sum(map(len, missing.values()))}):")
        lines += [f"  {stop}: {', '.join(dict.fromkeys(names))}" for stop, names in missing.items()]
    if record.plan_name is not None and not lines:
        lines.append("Nothing is missing: everything on the plan is measured.")
    return lines


def _short(item: PlanItem) -> str:
    """The item without the place words that its stop says already."""
    place = item.position.with_keys(spot=None).words()
    rest = " ".join(word for word in place.split() if word not in item.stop.split())
    words = f"{rest} {item.words().removeprefix(place).strip()}".strip()
    partly = item.findings or (item.position.index is not None and item.why != "not measured yet")
    return f"{words} ({item.why})" if partly else words
