"""The cost of the shelf, held against published examples and worked by hand."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.lib.errors import RuleBroken
from stock.costing import work_out
from stock.facts import RANK, Fact, State

AVERAGE, FIFO = "moving_average", "fifo"
FIRST = date(2026, 1, 1)


def fact(key, kind, quantity, unit_cost=None, day=None, **more):
    on = FIRST + timedelta(days=key if day is None else day)
    cost = None if unit_cost is None else Decimal(unit_cost)
    return Fact(key, on, kind, Decimal(quantity), cost, **more)


def story(*steps):
    """Facts of successive days: ("receipt", 10, "8.00"), ("use", 4) …"""
    return [fact(number, *step) for number, step in enumerate(steps)]


def cost_of_uses(ledger):
    return -sum(row.cost for row in ledger.rows if row.kind in ("use", "correction"))


def rows(ledger):
    return [
        (row.kind, str(row.quantity), str(row.cost), str(row.on_hand), str(row.value)) for row in ledger.rows
    ]


OPENSTAX = story(
    ("receipt", 150, "21"), ("use", 120), ("receipt", 225, "27"), ("use", 180), ("receipt", 210, "33")
)  # OpenStax, Principles of Accounting 1, ch. 10
HERMANSON = story(
    ("receipt", 10, "8.00"), ("receipt", 10, "8.50"), ("use", 10), ("receipt", 20, "8.40"), ("use", 20),
    ("receipt", 10, "9.00"), ("use", 10), ("receipt", 20, "8.80"), ("use", 20), ("receipt", 10, "9.10"),
)  # fmt: skip  # Hermanson, Edwards, Maher, Accounting Principles (CC BY 3.0), inventory


def test_fifo_agrees_with_openstax():
    ledger = work_out(OPENSTAX, FIFO)

    assert (cost_of_uses(ledger), ledger.state.value) == (7200, 8955)


def test_moving_average_agrees_with_openstax():
    ledger = work_out(OPENSTAX, AVERAGE)

    # The totals are printed in whole dollars.
    assert (round(cost_of_uses(ledger)), round(ledger.state.value)) == (7253, 8902)


def test_moving_average_agrees_with_hermanson():
    ledger = work_out(HERMANSON, AVERAGE)

    assert [f"{amount:.2f}" for amount in (cost_of_uses(ledger), ledger.state.value)] == ["511.42", "178.58"]


def test_fifo_agrees_with_the_card_of_hermanson():
    card = story(
        ("receipt", 8, "300"), ("receipt", 10, "300"), ("use", 12), ("receipt", 10, "315"), ("use", 14),
        ("receipt", 8, "320"),
    )  # fmt: skip

    ledger = work_out(card, FIFO)

    assert [-row.cost for row in ledger.rows if row.kind == "use"] == [3600, 1800 + 2520]
    assert [(lot.quantity, lot.unit_cost) for lot in ledger.state.layers] == [(2, 315), (8, 320)]


def test_a_use_that_empties_the_shelf_takes_what_is_left_of_the_value():
    ledger = work_out(story(("receipt", 3, "3.3333"), ("use", 1), ("use", 1), ("use", 1)), AVERAGE)

    assert (ledger.state.quantity, ledger.state.value) == (0, 0)


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_units_short_are_booked_at_the_last_cost_and_corrected_by_the_receipt_that_covers_them(method):
    ledger = work_out(story(("receipt", 3, "10"), ("use", 5), ("receipt", 10, "12")), method)

    assert rows(ledger) == [
        ("receipt", "3", "30.0000", "3", "30.0000"),
        ("use", "-5", "-50.0000", "-2", "-20.0000"),
        ("receipt", "10", "120.0000", "8", "100.0000"),
        ("correction", "0", "-4.0000", "8", "96.0000"),
    ]


def test_a_receipt_that_covers_a_part_corrects_that_part():
    ledger = work_out(story(("receipt", 1, "10"), ("use", 4), ("receipt", 2, "13"), ("use", 1)), AVERAGE)

    # After the receipt the last known cost is 13.
    assert rows(ledger)[2:] == [
        ("receipt", "2", "26.0000", "-1", "-4.0000"),
        ("correction", "0", "-6.0000", "-1", "-10.0000"),
        ("use", "-1", "-13.0000", "-2", "-23.0000"),
    ]


def test_a_correction_at_zero_takes_what_is_left():
    ledger = work_out(story(("receipt", 3, "3.3333"), ("use", 4), ("receipt", 1, "5")), AVERAGE)

    assert (ledger.state.quantity, ledger.state.value) == (0, 0)


def test_what_was_never_received_costs_nothing_and_says_so():
    ledger = work_out(story(("use", 2)), AVERAGE)

    assert rows(ledger) == [("use", "-2", "0.0000", "-2", "0.0000")]
    assert len(ledger.warnings) == 1


def test_a_return_comes_back_at_what_its_uses_cost_corrections_included():
    facts = [
        fact(1, "receipt", 2, "10"),
        fact(2, "use", 4, job="visit 1"),
        fact(3, "receipt", 10, "14"),
        fact(4, "visit return", 1, job="visit 1"),
    ]

    ledger = work_out(facts, AVERAGE)

    # 2 × 10 and 2 × 14: 48 for four, so 12 comes back.
    assert rows(ledger)[-1] == ("return", "1", "12.0000", "9", "124.0000")


def test_more_than_was_used_cannot_come_back():
    with pytest.raises(RuleBroken):
        work_out([fact(1, "use", 1, job="a"), fact(2, "visit return", 2, job="a")], AVERAGE)


def test_an_opening_count_stands_at_the_cost_typed_with_it():
    ledger = work_out(story(("count", 12, "3.40"), ("use", 2)), AVERAGE)

    assert rows(ledger) == [
        ("count", "12", "40.8000", "12", "40.8000"),
        ("use", "-2", "-6.8000", "10", "34.0000"),
    ]


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_opening_counts_of_one_day_are_all_opening(method):
    facts = [fact(1, "count", 10, "2", day=0, location=1), fact(2, "count", 5, "4", day=0, location=2)]

    ledger = work_out(facts, method)

    assert (ledger.state.quantity, ledger.state.value, ledger.state.at) == (15, 40, {1: 10, 2: 5})


def test_a_count_posts_its_difference_at_the_average():
    ledger = work_out(story(("receipt", 10, "2"), ("receipt", 10, "4"), ("count", 18)), AVERAGE)

    assert rows(ledger)[-1] == ("count", "-2", "-6.0000", "18", "54.0000")


def test_a_count_under_fifo_loses_from_the_oldest_layer_and_finds_at_the_newest_cost():
    lost = work_out(story(("receipt", 10, "2"), ("receipt", 10, "4"), ("count", 18)), FIFO)
    found = work_out(story(("receipt", 10, "2"), ("receipt", 10, "4"), ("count", 21)), FIFO)

    assert (lost.rows[-1].cost, found.rows[-1].cost) == (-4, 4)


@pytest.mark.parametrize(("method", "known"), [(AVERAGE, 3), (FIFO, 4)])
def test_a_count_of_zero_takes_all_the_value(method, known):
    ledger = work_out(story(("receipt", 10, "2"), ("receipt", 10, "4"), ("count", 0)), method)

    assert (ledger.rows[-1].cost, ledger.state.value, ledger.state.last_cost) == (-60, 0, known)


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_a_count_below_zero_settles_what_was_short_for_good(method):
    ledger = work_out(story(("receipt", 2, "10"), ("use", 5), ("count", 4), ("receipt", 1, "99")), method)

    assert rows(ledger)[2:] == [
        ("count", "7", "70.0000", "4", "40.0000"),
        ("receipt", "1", "99.0000", "5", "139.0000"),
    ]


def test_a_count_of_what_was_never_received_sets_its_value():
    ledger = work_out(story(("use", 3), ("count", 4, "2.50")), AVERAGE)

    assert rows(ledger)[-1] == ("count", "7", "10.0000", "4", "10.0000")


def test_a_count_of_a_location_compares_with_that_location():
    facts = [
        fact(1, "receipt", 10, "2", location=1),
        fact(2, "transfer", 4, location=1, to_location=2),
        fact(3, "count", 3, location=2),
    ]

    ledger = work_out(facts, AVERAGE)

    assert [(row.kind, row.quantity, row.cost) for row in ledger.rows[1:]] == [
        ("transfer", -4, 0),
        ("transfer", 4, 0),
        ("count", -1, -2),
    ]
    assert ledger.state.at == {1: 6, 2: 3}


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["receipt", "use", "waste", "count", "withdrawal"]),
        st.integers(0, 40).map(lambda n: Decimal(n) / 2),
        st.integers(1, 900).map(lambda n: Decimal(n) / 100),
        st.integers(0, 20),
    ),
    max_size=25,
)


def facts_from(steps, one_cost=None):
    """Facts in ledger order; only a count may be of 0."""
    facts = [
        fact(key, kind, quantity, one_cost or unit_cost, day=day, job=f"job {key % 3}")
        for key, (kind, quantity, unit_cost, day) in enumerate(steps)
        if quantity or kind == "count"
    ]
    return sorted(facts, key=lambda f: (f.date, RANK[f.kind], f.key))


@given(STEPS, st.sampled_from([AVERAGE, FIFO]))
def test_quantity_and_value_are_the_sums_of_the_rows_and_nothing_on_hand_is_worth_nothing(steps, method):
    ledger = work_out(facts_from(steps), method)

    quantity = value = Decimal(0)
    for row in ledger.rows:
        quantity, value = quantity + row.quantity, value + row.cost
        assert (row.on_hand, row.value) == (quantity, value)
    if ledger.state.quantity == 0:
        assert ledger.state.value == 0
    if method == FIFO and ledger.state.quantity > 0:
        layers = ledger.state.layers
        assert (sum(lot.quantity for lot in layers), sum(lot.value for lot in layers)) == (quantity, value)


@given(STEPS, st.sampled_from([AVERAGE, FIFO]), st.integers(0, 25))
def test_going_on_from_a_state_is_the_same_as_beginning_anew(steps, method, cut):
    facts = facts_from(steps)

    before = work_out(facts[:cut], method)
    after = work_out(facts[cut:], method, State.from_plain(before.state.as_plain()))

    whole = work_out(facts, method)
    assert before.rows + after.rows == whole.rows
    assert after.state.as_plain() == whole.state.as_plain()


@given(STEPS)
def test_both_methods_agree_when_all_costs_are_equal(steps):
    # What is used before any cost is known is booked at 0: that is a second cost.
    facts = [fact(99, "receipt", 1, "2", day=-1), *facts_from(steps, one_cost="2")]

    average, fifo = work_out(facts, AVERAGE), work_out(facts, FIFO)

    assert average.rows == fifo.rows


def test_a_reversal_of_a_closed_day_takes_back_the_cost_of_its_original():
    facts = story(("receipt", 4, "10"), ("use", 2), ("receipt", 4, "20"))
    facts.append(replace(fact(9, "reversal", 2), reverses=1))

    ledger = work_out(facts, AVERAGE)

    assert rows(ledger)[-1] == ("use", "2", "20.0000", "8", "120.0000")
