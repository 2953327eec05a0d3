"""Freight on a delivery: pure sums, checked by hand, then by Hypothesis."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.lib.money import round_money
from stock.rules.landing import amounts_of, landed_unit_costs

D = Decimal


def test_freight_is_spread_over_the_lines_by_their_amounts():
    """20 × 3.40 = 68, 250 × 0.128 = 32: of 10.00 the first takes 6.80, the second 3.20 (by hand)."""
    lines = [(D(20), D("3.40")), (D(250), D("0.128"))]

    assert landed_unit_costs(lines, D(10), "USD") == [D("3.74"), D("0.1408")]


def test_a_line_keeps_its_price_where_there_is_no_freight():
    assert landed_unit_costs([(D(3), D("0.0333"))], D(0), "USD") == [D("0.0333")]


def test_a_cost_that_goes_on_for_ever_is_rounded_to_six_decimals():
    """(3 × 1.00 + 0.50) / 3 = 1.1666…"""
    assert landed_unit_costs([(D(3), D(1))], D("0.50"), "USD") == [D("1.166667")]


def test_the_cent_that_is_left_over_goes_to_the_first_line():
    assert landed_unit_costs([(D(1), D(5)), (D(1), D(5))], D("0.01"), "USD") == [D("5.01"), D(5)]


def test_freight_on_what_costs_nothing_is_spread_by_quantity():
    assert landed_unit_costs([(D(1), D(0)), (D(3), D(0))], D(4), "USD") == [D(1), D(1)]


def test_freight_is_split_to_the_smallest_coin_of_the_currency():
    assert landed_unit_costs([(D(1), D(10)), (D(1), D(10))], D(5), "JPY") == [D(13), D(12)]


@pytest.mark.parametrize("extra", ["-1", "0.001"])
def test_freight_below_zero_or_with_too_many_decimals_is_an_error(extra):
    with pytest.raises(ValueError, match=extra):
        landed_unit_costs([(D(1), D(1))], D(extra), "USD")


quantities = st.decimals(min_value="0.001", max_value=9999, places=3)
prices = st.decimals(min_value=0, max_value=500, places=4)
cents = st.decimals(min_value=0, max_value=900, places=2)


@given(st.lists(st.tuples(quantities, prices), min_size=1, max_size=6), cents)
def test_what_is_on_the_shelf_is_worth_the_packing_slip_to_the_cent(lines, freight):
    costs = landed_unit_costs(lines, freight, "USD")

    landed = [round_money(quantity * cost, "USD") for (quantity, _), cost in zip(lines, costs, strict=True)]
    assert sum(landed) == sum(amounts_of(lines, "USD")) + freight
