"""What holds of any ledger in the book, whatever is typed about whichever day in any order."""

from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.methods import change_method
from stock.actions.movements import NewFact, add_facts, reverse_movements
from stock.actions.valuing import value_items
from stock.models import Movement, Shelf, Valuation
from stock.reports.levels import levels
from tests.factories.stock import ItemFactory, LocationFactory
from tests.stock.balances import balances_that_differ

pytestmark = pytest.mark.django_db
FIRST, DAYS = date(2026, 1, 1), 8
D = Decimal
KINDS = [
    *("receipt", "use", "count", "waste", "supplier return", "withdrawal", "transfer"),
    *("visit return", "reversal", "method"),
]
TYPED = st.lists(
    st.tuples(
        st.sampled_from(KINDS),
        st.integers(1, DAYS),
        st.integers(1, 60),
        st.integers(1, 500),
        st.integers(0, 3),
    ),
    min_size=1,
    max_size=14,
)


def write(item, places, kind, day, halves, cents, which):
    """Type one thing; what a rule refuses is not written."""
    on, quantity, at = FIRST + timedelta(day), D(halves) / 2, places[which % 2]
    try:
        if kind == "reversal":
            standing = list(Movement.objects.standing().filter(item=item).in_order())
            if standing:
                reverse_movements([standing[halves % len(standing)]])
        elif kind == "method":
            change_method(on, ("moving_average", "fifo")[which % 2])
        else:
            job = f"job {which}" if kind in ("use", "visit return") else ""
            fact = NewFact(item, on, kind, quantity, D(cents) / 100, at, places[1 - which % 2], job)
            add_facts([fact])
    except RuleBroken:
        pass


def type_in(typed, method="moving_average", cost=None):
    Profile.objects.create(name="x", valuation=method)
    item, places = ItemFactory(), LocationFactory.create_batch(2)
    for kind, day, halves, cents, which in typed:
        write(item, places, kind, day, halves, cost or cents, which)
    return item


def ledger_of(item):
    return list(Valuation.objects.filter(item=item).select_related("movement").order_by("position"))


@settings(max_examples=60)
@given(TYPED, st.sampled_from(["moving_average", "fifo"]))
def test_quantity_and_value_are_sums_of_rows_and_each_day_closes_where_the_next_one_opens(typed, method):
    with transaction.atomic():
        item = type_in(typed, method)

        quantity = value = D(0)
        by_day = defaultdict(lambda: (D(0), D(0)))
        for row in ledger_of(item):
            quantity, value = quantity + row.quantity, value + row.cost
            assert (row.on_hand, row.value) == (quantity, value)
            day = by_day[row.movement.date]
            by_day[row.movement.date] = day[0] + row.quantity, day[1] + row.cost
        opening = D(0), D(0)
        for number in range(DAYS + 1):
            on = FIRST + timedelta(number)
            closing = opening[0] + by_day[on][0], opening[1] + by_day[on][1]
            level = levels(on).get(item.pk)
            assert (level.on_hand, level.value) == closing if level else closing == (0, 0)
            assert closing[0] != 0 or closing[1] == 0
            opening = closing
        shelf = Shelf.objects.filter(item=item).first()
        assert (shelf.on_hand, shelf.value) == (quantity, value) if shelf else not ledger_of(item)
        assert balances_that_differ() == []
        transaction.set_rollback(True)


@settings(max_examples=40)
@given(TYPED)
def test_what_is_kept_is_what_the_facts_give_from_the_start(typed):
    with transaction.atomic():
        item = type_in(typed)
        columns = ("movement", "kind", "quantity", "cost", "on_hand", "value", "location")
        stored = list(Valuation.objects.order_by("position").values_list(*columns))

        value_items([item.pk])

        assert list(Valuation.objects.order_by("position").values_list(*columns)) == stored
        transaction.set_rollback(True)


@settings(max_examples=40)
@given(TYPED)
def test_both_methods_agree_in_the_book_when_all_costs_are_equal(typed):
    with transaction.atomic():
        # What is used before any cost is known is booked at 0: that is a second cost.
        typed = [("receipt", 0, 2, 200, 0), *[step for step in typed if step[0] != "method"]]
        columns = ("kind", "quantity", "cost", "on_hand", "value")
        item = type_in([step for step in typed if step[0] != "reversal"], cost=200)
        average = list(Valuation.objects.filter(item=item).order_by("position").values_list(*columns))

        Profile.objects.update(valuation="fifo")
        value_items([item.pk])

        assert list(Valuation.objects.filter(item=item).order_by("position").values_list(*columns)) == average
        transaction.set_rollback(True)
