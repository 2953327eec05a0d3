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
from stock.actions.valuing import balances_that_differ
from stock.models import Movement, Valuation
from tests.factories.stock import ItemFactory, receipt

pytestmark = pytest.mark.django_db
FIRST = date(2026, 1, 1)

STORIES = st.lists(
    st.tuples(st.sampled_from(["receipt", "use", "count", "waste"]), st.integers(1, 30), st.integers(1, 500)),
    min_size=1,
    max_size=7,
)


def ledger_of(item):
    rows = Valuation.objects.filter(item=item).order_by("position")
    return list(rows.values_list("kind", "quantity", "cost", "on_hand", "value"))


@settings(max_examples=25, deadline=None)
@given(STORIES, st.randoms(use_true_random=False), st.sampled_from(["moving_average", "fifo"]))
def test_the_order_of_typing_does_not_matter(story, random, method):
    with transaction.atomic():
        Profile.objects.create(name="x", valuation=method)
        facts = [
            (kind, Decimal(quantity), Decimal(cost) / 100, FIRST + timedelta(number))
            for number, (kind, quantity, cost) in enumerate(story)
        ]
        in_order, shuffled = ItemFactory(), ItemFactory()
        for kind, quantity, cost, day in facts:
            add_facts([NewFact(in_order, day, kind, quantity, cost)])
        random.shuffle(facts)
        for kind, quantity, cost, day in facts:
            add_facts([NewFact(shuffled, day, kind, quantity, cost)])

        assert ledger_of(shuffled) == ledger_of(in_order)
        assert balances_that_differ() == []
        transaction.set_rollback(True)


def test_a_pair_of_fact_and_reversal_is_left_out_of_the_costing():
    item = ItemFactory()
    receipt(item, "10", "2")
    wrong = receipt(item, "10", "9")

    reverse_movements([wrong])

    assert ledger_of(item) == [("receipt", 10, 20, 10, 20)]
    with pytest.raises(RuleBroken):
        reverse_movements([wrong])


def test_nothing_is_dated_into_a_closed_day():
    Profile.objects.create(name="x", closed_through=FIRST)

    with pytest.raises(RuleBroken):
        add_facts([NewFact(ItemFactory(), FIRST, "waste", Decimal(1))])

    assert Movement.objects.count() == 0
