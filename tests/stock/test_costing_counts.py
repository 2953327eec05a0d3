"""What a count changes, worked by hand."""

import pytest

from stock.rules.costing import work_out
from tests.stock.stories import AVERAGE, FIFO, fact, rows, story


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


def test_an_opening_count_without_a_cost_takes_what_another_place_said():
    facts = [fact(1, "count", 10, "2", day=0, location=1), fact(2, "count", 5, day=0, location=2)]

    ledger = work_out(facts, AVERAGE)

    assert (ledger.state.value, ledger.warnings) == (30, [])


def test_a_count_of_the_day_after_the_opening_is_no_opening():
    facts = [fact(1, "count", 10, "2", day=0, location=1), fact(2, "count", 5, "9", day=1, location=2)]

    ledger = work_out(facts, AVERAGE)

    assert rows(ledger)[-1] == ("count", "5", "10.0000", "15", "30.0000")


def test_counting_nothing_of_a_place_is_an_opening_count_of_it():
    facts = [
        fact(1, "count", 0, "2", day=0, location=1),
        fact(2, "count", 3, "4", day=0, location=1),
        fact(3, "count", 1, "6", day=0, location=2),
    ]

    ledger = work_out(facts, AVERAGE)

    # The second count of place 1 is a count like any other: nothing on hand, the last known cost is 2.
    assert [str(row.cost) for row in ledger.rows] == ["0.0000", "6.0000", "6.0000"]


def test_an_opening_count_without_any_cost_says_so_and_the_next_typed_cost_holds():
    ledger = work_out(story(("count", 4), ("count", 3, "5")), AVERAGE)

    assert rows(ledger) == [
        ("count", "4", "0.0000", "4", "0.0000"),
        ("count", "-1", "15.0000", "3", "15.0000"),
    ]
    assert ledger.warnings == ["counted before any cost was known: valued at 0"]


@pytest.mark.parametrize(("method", "cost"), [(AVERAGE, "14.0000"), (FIFO, "20.0000")])
def test_what_is_found_after_the_shelf_ran_out_comes_at_the_last_known_cost(method, cost):
    ledger = work_out(story(("receipt", 2, "4"), ("receipt", 2, "10"), ("use", 4), ("count", 2)), method)

    assert rows(ledger)[-1] == ("count", "2", cost, "2", cost)


@pytest.mark.parametrize(("method", "cost"), [(AVERAGE, "-3.0000"), (FIFO, "-4.0000")])
def test_after_a_count_of_zero_a_use_costs_what_was_known_last(method, cost):
    ledger = work_out(story(("receipt", 10, "2"), ("receipt", 10, "4"), ("count", 0), ("use", 1)), method)

    assert rows(ledger)[-1] == ("use", "-1", cost, "-1", cost)


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_a_count_that_brings_an_item_from_below_zero_to_zero_takes_all_value(method):
    facts = story(("receipt", 3, "3.3333"), ("use", 4), ("count", 0), ("receipt", 1, "9"), ("use", 1))

    ledger = work_out(facts, method)

    # The short unit is settled: the receipt corrects nothing.
    assert rows(ledger)[2:] == [
        ("count", "1", "3.3333", "0", "0.0000"),
        ("receipt", "1", "9.0000", "1", "9.0000"),
        ("use", "-1", "-9.0000", "0", "0.0000"),
    ]


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_a_count_may_leave_an_item_below_zero(method):
    facts = [
        fact(1, "receipt", 2, "10", location=1),
        fact(2, "use", 5, location=1, job="a"),
        fact(3, "receipt", 1, "16", location=1),
        fact(4, "use", 2, location=2, job="a"),
        fact(5, "count", 0, location=1),
        fact(6, "use", 1, location=1),
        fact(7, "receipt", 3, "20", location=1),
    ]

    ledger = work_out(facts, method)

    # Two short at 10 and two at 16: 52 for four, 13 each. The count finds two more than the book has at
    # place 1, which leaves two short at 13; the last known cost is still that of the last receipt, 16.
    assert rows(ledger)[5:] == [
        ("count", "2", "26.0000", "-2", "-26.0000"),
        ("use", "-1", "-16.0000", "-3", "-42.0000"),
        ("receipt", "3", "60.0000", "0", "18.0000"),
        ("correction", "0", "-18.0000", "0", "0.0000"),
    ]


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_a_count_that_takes_an_item_below_zero_costs_what_a_use_would(method):
    facts = [
        fact(1, "receipt", 3, "10", location=1),
        fact(2, "use", 2, location=2),
        fact(3, "count", 0, location=1),
        fact(4, "receipt", 4, "12", location=1),
    ]

    ledger = work_out(facts, method)

    assert rows(ledger)[2:] == [
        ("count", "-3", "-30.0000", "-2", "-20.0000"),
        ("receipt", "4", "48.0000", "2", "28.0000"),
        ("correction", "0", "-4.0000", "2", "24.0000"),
    ]


def test_a_count_of_a_place_at_zero_leaves_what_lies_elsewhere():
    facts = [
        fact(1, "receipt", 3, "10", location=1),
        fact(2, "receipt", 2, "15", location=2),
        fact(3, "count", 0, location=1),
    ]

    ledger = work_out(facts, AVERAGE)

    assert rows(ledger)[-1] == ("count", "-3", "-36.0000", "2", "24.0000")
