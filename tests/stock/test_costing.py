"""The cost of the shelf, held against published examples and worked by hand."""

from dataclasses import replace

import pytest

from practice.lib.errors import RuleBroken
from stock.rules.costing import work_out
from tests.stock.stories import AVERAGE, FIFO, cost_of_uses, fact, rows, story

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


def test_a_reversal_of_a_closed_day_takes_back_the_cost_of_its_original():
    facts = story(("receipt", 4, "10"), ("use", 2), ("receipt", 4, "20"))
    facts.append(replace(fact(9, "reversal", 2), reverses=1))

    ledger = work_out(facts, AVERAGE)

    assert rows(ledger)[-1] == ("use", "2", "20.0000", "8", "120.0000")


@pytest.mark.parametrize(
    ("reversed_fact", "row"),
    [
        (replace(fact(9, "reversal", 2, job="a"), reverses=2), ("use", "2", "20.0000", "8", "120.0000")),
        (replace(fact(9, "reversal", 1, job="a"), reverses=3), ("return", "-1", "-10.0000", "5", "90.0000")),
    ],
)
def test_a_late_reversal_changes_what_is_out_at_the_job(reversed_fact, row):
    facts = [
        fact(1, "receipt", 4, "10"),
        fact(2, "use", 2, job="a"),
        *([fact(3, "visit return", 1, job="a")] if reversed_fact.reverses == 3 else []),
        fact(4, "receipt", 4, "20"),
    ]

    ledger = work_out([*facts, reversed_fact], AVERAGE)

    taken_back = [entry for entry in rows(ledger) if entry[0] == row[0]][-1]
    assert taken_back[:3] == row[:3]
    assert ledger.state.jobs == {"a": (0, 0) if reversed_fact.reverses == 2 else (2, 20)}


def test_a_late_reversal_of_what_is_not_there_is_no_ledger():
    with pytest.raises(ValueError, match="not among the facts"):
        work_out([replace(fact(9, "reversal", 2), reverses=1)], AVERAGE)


def test_the_cost_of_a_fact_is_rounded_once():
    ledger = work_out(story(("receipt", 1, "1.00004"), ("receipt", 2, "1.00004"), ("use", 2)), FIFO)

    assert rows(ledger)[-1] == ("use", "-2", "-2.0001", "1", "1.0000")


def test_half_of_the_last_digit_is_rounded_away_from_zero():
    ledger = work_out(story(("receipt", 1, "0.00005"), ("receipt", 3, "0.00005")), AVERAGE)

    assert [str(row.cost) for row in ledger.rows] == ["0.0001", "0.0002"]


def test_a_layer_keeps_its_cost_however_often_its_uses_were_rounded():
    facts = story(("receipt", 10, "0.33336"), *[("use", 1)] * 9, ("count", 3), ("use", 3), ("use", 1))

    ledger = work_out(facts, FIFO)

    # 3.3336, nine times 0.3334 out: 0.3330 is left, and the surplus of two comes at the newest cost, 0.33336.
    assert rows(ledger)[-3:] == [
        ("count", "2", "0.6667", "3", "0.9997"),
        ("use", "-3", "-0.9997", "0", "0.0000"),
        ("use", "-1", "-0.3334", "-1", "-0.3334"),
    ]


def test_under_fifo_the_last_known_cost_is_that_of_the_layer_last_used():
    steps = [("receipt", 2, "10"), ("receipt", 2, "14"), ("use", 6)]

    fifo, average = work_out(story(*steps), FIFO), work_out(story(*steps), AVERAGE)

    assert rows(fifo)[-1] == ("use", "-6", "-76.0000", "-2", "-28.0000")
    assert rows(average)[-1] == ("use", "-6", "-72.0000", "-2", "-24.0000")


@pytest.mark.parametrize("method", [AVERAGE, FIFO])
def test_receipts_cover_the_oldest_short_units_first(method):
    facts = [
        fact(1, "receipt", 1, "10"),
        fact(2, "use", 2, job="old"),
        fact(3, "receipt", 0.5, "20"),
        fact(4, "use", 1, job="new"),
        fact(5, "receipt", 1, "30"),
    ]

    ledger = work_out(facts, method)

    # Old: 10 + 10 booked, half of it corrected to 20 and half to 30. New: 1 at 20 booked, half at 30.
    assert ledger.state.jobs == {"old": (2, 10 + 10 + 15), "new": (1, 10 + 15)}
    assert (ledger.state.quantity, ledger.state.value) == (-0.5, -10)


def test_a_return_below_zero_covers_like_a_receipt_at_that_cost():
    facts = [
        fact(1, "receipt", 2, "10"),
        fact(2, "use", 2, job="a"),
        fact(3, "receipt", 1, "16"),
        fact(4, "use", 4, job="b"),
        fact(5, "visit return", 2, job="a"),
        fact(6, "use", 1, job="c"),
    ]

    ledger = work_out(facts, AVERAGE)

    assert rows(ledger)[3:] == [
        ("use", "-4", "-64.0000", "-3", "-48.0000"),
        ("return", "2", "20.0000", "-1", "-28.0000"),
        ("correction", "0", "12.0000", "-1", "-16.0000"),
        ("use", "-1", "-10.0000", "-2", "-26.0000"),
    ]


def test_a_return_is_a_new_last_layer():
    facts = [
        fact(1, "receipt", 2, "10"),
        fact(2, "receipt", 4, "14"),
        fact(3, "use", 3, job="a"),
        fact(4, "visit return", 3, job="a"),
        fact(5, "use", 4),
    ]

    ledger = work_out(facts, FIFO)

    # 10 + 10 + 14 come back for three; three at 14 are used before one of them.
    assert rows(ledger)[-2:] == [
        ("return", "3", "34.0000", "6", "76.0000"),
        ("use", "-4", "-53.3333", "2", "22.6667"),
    ]


def test_returns_come_back_in_proportion_and_the_last_one_takes_the_rest():
    facts = [
        fact(1, "receipt", 3, "3.3333"),
        fact(2, "use", 1, job="a"),
        fact(3, "use", 2, job="a"),
        fact(4, "visit return", 2, job="a"),
        fact(5, "visit return", 1, job="a"),
    ]

    ledger = work_out(facts, AVERAGE)

    assert [str(row.cost) for row in ledger.rows[-2:]] == ["6.6666", "3.3333"]
    assert ledger.state.jobs == {"a": (0, 0)}


@pytest.mark.parametrize("kind", ["supplier return", "waste", "withdrawal"])
@pytest.mark.parametrize(("method", "cost"), [(AVERAGE, "-36.0000"), (FIFO, "-38.0000")])
def test_returns_to_suppliers_waste_and_withdrawals_cost_what_a_use_would(kind, method, cost):
    ledger = work_out(story(("receipt", 1, "10"), ("receipt", 1, "14"), (kind, 3)), method)

    # Two on hand cost 24. The third: the average, 12, is 36 in all; FIFO's last layer, 14, is 38.
    assert [str(ledger.rows[-1].cost), ledger.state.quantity] == [cost, -1]


def test_a_transfer_is_two_rows_that_move_no_value():
    facts = [fact(1, "receipt", 4, "2", location=1), fact(2, "transfer", 6, location=1, to_location=2)]

    ledger = work_out(facts, AVERAGE)

    assert [(row.location, row.quantity, row.cost, row.on_hand, row.value) for row in ledger.rows[1:]] == [
        (1, -6, 0, -2, 8),
        (2, 6, 0, 4, 8),
    ]
    assert ledger.state.at == {1: -2, 2: 6}
