"""Facts typed in any order: those of different days give the same costs, those of one day keep theirs."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.movements import NewFact, add_facts, reverse_movements
from stock.models import Movement, Valuation
from tests.factories.stock import ItemFactory, LocationFactory, receipt
from tests.stock.balances import balances_that_differ

pytestmark = pytest.mark.django_db
FIRST = date(2026, 1, 1)

KINDS = ["receipt", "use", "count", "waste", "supplier return", "withdrawal", "transfer"]
DAYS = st.lists(
    st.lists(
        st.tuples(st.sampled_from(KINDS), st.integers(1, 30), st.integers(1, 500), st.integers(0, 1)),
        min_size=1,
        max_size=3,
    ),
    min_size=1,
    max_size=5,
)


def ledger_of(item):
    rows = Valuation.objects.filter(item=item).order_by("position")
    return list(rows.values_list("kind", "quantity", "cost", "on_hand", "value", "location"))


@settings(max_examples=40)
@given(DAYS, st.randoms(use_true_random=False), st.sampled_from(["moving_average", "fifo"]))
def test_the_order_of_typing_days_does_not_matter(days, random, method):
    with transaction.atomic():
        Profile.objects.create(name="x", valuation=method)
        places, items = LocationFactory.create_batch(2), ItemFactory.create_batch(2)
        in_order = list(enumerate(days))
        shuffled = random.sample(in_order, len(in_order))
        for item, typed in zip(items, (in_order, shuffled), strict=True):
            for number, facts in typed:
                for kind, quantity, cost, at in facts:
                    place, other = places[at], places[1 - at]
                    on, cost = FIRST + timedelta(number), Decimal(cost) / 100
                    add_facts([NewFact(item, on, kind, Decimal(quantity), cost, place, other)])

        assert ledger_of(items[1]) == ledger_of(items[0])
        assert balances_that_differ() == []
        transaction.set_rollback(True)


def test_a_pair_of_fact_and_reversal_is_left_out_of_the_costing():
    item = ItemFactory()
    receipt(item, "10", "2")
    wrong = receipt(item, "10", "9")

    reverse_movements([wrong])

    assert ledger_of(item) == [("receipt", 10, 20, 10, 20, None)]
    with pytest.raises(RuleBroken):
        reverse_movements([wrong])


def test_nothing_is_dated_into_a_closed_day():
    Profile.objects.create(name="x", closed_through=FIRST)

    with pytest.raises(RuleBroken):
        add_facts([NewFact(ItemFactory(), FIRST, "waste", Decimal(1))])

    assert Movement.objects.count() == 0
