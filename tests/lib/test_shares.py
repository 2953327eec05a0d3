"""Whole units shared out by weights."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.lib.shares import share_out


def test_leftover_units_go_to_the_largest_remainders_and_ties_to_the_first():
    assert share_out(5, [70, 30]) == [4, 1]
    assert share_out(800, [1, 1, 1]) == [267, 267, 266]


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1]])
def test_weights_that_share_nothing_out_are_refused(weights):
    with pytest.raises(ValueError, match="weights of at least 0"):
        share_out(5, weights)


@given(st.integers(0, 10**9), st.lists(st.decimals(0, 100, places=4), min_size=1, max_size=8).filter(any))
def test_parts_add_up_and_lie_within_one_unit_of_their_share(units, weights):
    parts = share_out(units, weights)

    assert sum(parts) == units
    assert all(
        abs(part * sum(weights) - units * weight) < sum(weights)
        for part, weight in zip(parts, weights, strict=True)
    )
