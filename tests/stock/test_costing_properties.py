"""What holds of any ledger, whatever happened to the item."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from stock.rules.costing import work_out
from stock.rules.facts import RANK, CostingState
from tests.stock.stories import AVERAGE, FIFO, fact

STEPS = st.lists(
    st.tuples(
        st.sampled_from(["receipt", "use", "supplier return", "waste", "count", "withdrawal", "transfer"]),
        st.integers(0, 40).map(lambda n: Decimal(n) / 2),
        st.integers(1, 900).map(lambda n: Decimal(n) / 100),
        st.integers(0, 20),
    ),
    max_size=25,
)


def facts_from(steps, one_cost=None):
    """Facts in ledger order; only a count may be of 0."""
    facts = [
        fact(
            key,
            kind,
            quantity,
            one_cost or unit_cost,
            day=day,
            location=key % 2,
            to_location=(key + 1) % 2,
            job=f"job {key % 3}",
        )
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
    if method == FIFO:
        assert sum(layer.quantity for layer in ledger.state.layers) == max(quantity, 0)
    assert sum(units.quantity for units in ledger.state.short) == max(-quantity, 0)


@given(STEPS, st.sampled_from([AVERAGE, FIFO]), st.integers(0, 25))
def test_going_on_from_a_state_is_the_same_as_beginning_anew(steps, method, cut):
    facts = facts_from(steps)

    before = work_out(facts[:cut], method)
    after = work_out(facts[cut:], method, CostingState.from_plain(before.state.as_plain()))

    whole = work_out(facts, method)
    assert before.rows + after.rows == whole.rows
    assert after.state.as_plain() == whole.state.as_plain()


@given(STEPS, st.sampled_from([AVERAGE, FIFO]), st.integers(1, 9))
def test_going_on_from_any_mark_is_the_same_as_beginning_anew(steps, method, every):
    facts = facts_from(steps)

    whole = work_out(facts, method, mark_every=every)

    assert bool(whole.marks) == (len(whole.rows) >= every)
    for mark in whole.marks:
        [place] = [place for place, fact in enumerate(facts) if fact.key == mark.fact]
        after = work_out(facts[place + 1 :], method, CostingState.from_plain(mark.state))
        assert whole.rows[mark.rows :] == after.rows


@given(STEPS)
def test_both_methods_agree_when_all_costs_are_equal(steps):
    # What is used before any cost is known is booked at 0: that is a second cost.
    facts = [fact(99, "receipt", 1, "2", day=-1), *facts_from(steps, one_cost="2")]

    average, fifo = work_out(facts, AVERAGE), work_out(facts, FIFO)

    assert average.rows == fifo.rows
