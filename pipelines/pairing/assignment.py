"""The best way to give each photo one reading and each reading one photo."""

from collections.abc import Hashable, Mapping
from typing import TypeVar

Left = TypeVar("Left", bound=Hashable)
Right = TypeVar("Right", bound=Hashable)


def best_pairs(costs: Mapping[tuple[Left, Right], float]) -> dict[Left, Right]:
    """As many pairs as possible, and among those the cheapest in sum.

    Grows the pairing by one along the cheapest augmenting path until no path is left (successive shortest
    paths), which gives the cheapest pairing of every size on the way.

    Args:
        costs: the cost of every pair that is allowed.
    """
    paired: dict[Left, Right] = {}
    while path := _cheapest_path(costs, paired):
        for left, right in path:
            paired[left] = right
    return paired


def _cheapest_path(
    costs: Mapping[tuple[Left, Right], float], paired: Mapping[Left, Right]
) -> list[tuple[Left, Right]]:
    """The new pairs along the cheapest path from a free left to a free right; empty when there is none."""
    owner = {right: left for left, right in paired.items()}
    cost_to: dict[Right, float] = {}
    came_from: dict[Right, Left] = {}
    lefts = {left for left, _ in costs}
    changed = True
    while changed:  # Bellman-Ford: giving back a pair has a negative cost
        changed = False
        for (left, right), cost in costs.items():
            if paired.get(left) == right:
                continue
            start = _cost_at(left, costs, paired, cost_to)
            if start is not None and start + cost < cost_to.get(right, float("inf")) - 1e-9:
                cost_to[right], came_from[right] = start + cost, left
                changed = True
    free = [right for right in cost_to if right not in owner]
    if not free or not lefts:
        return []
    right = min(free, key=cost_to.__getitem__)
    path = []
    while True:
        left = came_from[right]
        path.append((left, right))
        if left not in paired:
            return path[::-1]
        right = paired[left]


def _cost_at(
    left: Left,
    costs: Mapping[tuple[Left, Right], float],
    paired: Mapping[Left, Right],
    cost_to: Mapping[Right, float],
) -> float | None:
    """The cost of standing at a left: nothing when it is free, else that of taking its right away from it."""
    if left not in paired:
        return 0.0
    right = paired[left]
    return cost_to[right] - costs[left, right] if right in cost_to else None
