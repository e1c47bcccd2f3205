from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from pipelines.pairing.assignment import best_pairs


def brute_force(costs, lefts, rights):
    """Size and cost of the best pairing, by trying everything."""
    best = (0, 0.0)
    slots = [*rights, *[None] * len(lefts)]
    for chosen in permutations(slots, len(lefts)):
        pairs = [(left, right) for left, right in zip(lefts, chosen, strict=True) if (left, right) in costs]
        best = min(best, (-len(pairs), sum(costs[p] for p in pairs)))
    return best


@given(
    st.dictionaries(
        st.tuples(st.integers(0, 3), st.integers(0, 3)), st.integers(0, 90).map(float), max_size=10
    )
)
def test_as_many_pairs_as_possible_at_the_least_cost(costs):
    pairs = best_pairs(costs)
    assert len(set(pairs.values())) == len(pairs)
    assert set(pairs.items()) <= set(costs)
    found = (-len(pairs), sum(costs[p] for p in pairs.items()))
    assert found == brute_force(costs, range(4), range(4))
