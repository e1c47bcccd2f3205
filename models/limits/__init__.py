"""Limits: what is allowed, by whose word, and for which trucks. Read from config/limits/*.yaml.

A file has a head that holds for all its limits, and a list of them::

    kind: maker                  # shop rule, maker, regulation or common practice: who governs first
    source: service manual, page 5-12
    seen: stored copy            # where the number was read: stored copy, secondary source, not published
    jurisdiction: none
    as_of: 2026-11-01
    unit: mm                     # UCUM code; readings are converted to it, and it governs
    near: 10 %                   # "near limit" begins here: a share of the limit, a distance, or none
    limits:
      - id: front-rotor
        component: brake_rotor
        measure: thickness
        subject: front rotor, heavy brakes
        when: {axle: steering, gross_weight_lb: {more than: 10000}}
        more than: 36.50         # or at least, at most, less than; both ends may be given
        refinish: 37.0           # above 36.50 but not above 37.0 it may stay and not be refinished

``when`` may name trucks by patterns: ``{vin: "1M8GDM9A*"}``, ``{unit: ["30*", "412"]}``.

Numbers are decimals or fractions (``3/16``, ``4 1/4``) and stay exact. ``when`` takes the names of
:data:`FACTS`. ``of`` names a quantity computed from several readings instead of the reading itself.
"""

from collections.abc import Iterable
from importlib.resources import files
from itertools import combinations
from pathlib import Path

from models.limits.facts import FACTS, Condition, samples
from models.limits.reader import HEADER, read_limit
from models.limits.rules import KINDS, Bound, Limit, Limits
from models.limits.yaml_nodes import LimitsError, read_yaml
from models.vocabulary import Vocabulary, load_vocabulary

__all__ = ["FACTS", "KINDS", "Bound", "Condition", "Limit", "Limits", "LimitsError", "load_limits"]


def _can_both_hold(one: Limit, other: Limit) -> bool:
    """Whether some truck and place meets the conditions of both."""
    for name in {c.fact for c in one.when} & {c.fact for c in other.when}:
        conditions = [c for c in (*one.when, *other.when) if c.fact == name]
        if not any(all(c.holds(value) for c in conditions) for value in samples(conditions)):
            return False
    return True


def _same_end(one: Limit, other: Limit) -> bool:
    """Whether both say something about the same end; a low and a high one complete each other."""
    if one.undefined or other.undefined:
        return True
    return (one.low is not None and other.low is not None) or (
        one.high is not None and other.high is not None
    )


def _refuse_clashes(rules: Iterable[Limit]) -> None:
    """Two sources may differ, and both are kept; one source that says two things is a mistake in the file."""
    names: dict[str, Limit] = {}
    groups: dict[tuple[str, ...], list[Limit]] = {}
    for rule in rules:
        if rule.id in names:
            raise LimitsError(
                f"{rule.where}: the id '{rule.id}' is already used at {names[rule.id].where}; give it its own"
            )
        names[rule.id] = rule
        key = (rule.component, rule.measure, rule.of, rule.kind, rule.source, rule.jurisdiction)
        groups.setdefault(key, []).append(rule)
    for group in groups.values():
        for one, other in combinations(group, 2):
            if _same_end(one, other) and _can_both_hold(one, other):
                raise LimitsError(
                    f"{other.where}: '{other.id}' can hold for the same truck as '{one.id}' at {one.where}"
                    " of the same source; narrow their when: or remove one"
                )


def _read_file(path: Path, vocabulary: Vocabulary) -> list[Limit]:
    root = read_yaml(path)
    fields = root.fields()
    strange = [n for n in fields if n not in (*HEADER, "limits")]
    if strange:
        raise fields[strange[0]].fail(f"'{strange[0]}' does not belong to the head of a limits file")
    if "limits" not in fields:
        raise root.fail("the list under limits: is missing")
    header = {n: e for n, e in fields.items() if n != "limits"}
    if not fields["limits"].is_list():
        raise fields["limits"].fail("limits: must hold a list of limits")
    return [rule for entry in fields["limits"].items() for rule in read_limit(entry, header, vocabulary)]


def load_limits(folder: Path | None = None, *, own: Path | None = None) -> Limits:
    """Every limit of a folder's YAML files, checked.

    Args:
        folder: by default the limits that are shipped.
        own: a further folder with the shop's and the makers' limits; one that does not exist counts as empty.

    Raises:
        LimitsError: a file is not usable; the message says which line of it and what to do.
    """
    folder = folder or Path(str(files("config") / "limits"))
    if not folder.is_dir():
        raise LimitsError(f"{folder} is not a folder; name one that holds limits (*.yaml)")
    paths = sorted(folder.glob("*.yaml"))
    if own is not None and own.is_dir():
        paths += sorted(own.glob("*.yaml"))
    vocabulary = load_vocabulary()
    rules = [rule for path in paths for rule in _read_file(path, vocabulary)]
    _refuse_clashes(rules)
    return Limits(tuple(rules))
