"""A ledger that goes on from a checkpoint is the same as one worked out from scratch."""

from datetime import date, timedelta
from decimal import Decimal
from random import Random

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.movements import NewFact, add_facts, receive_item, reverse_movements
from stock.actions.valuing import ROWS_BETWEEN_CHECKPOINTS, value_items
from stock.models import Checkpoint, Movement, Shelf, Valuation
from tests.factories.stock import ItemFactory, LocationFactory, receipt
from tests.stock.balances import balances_that_differ

pytestmark = pytest.mark.django_db
FIRST = date(2024, 1, 1)
DAYS = 300


def day(number):
    return FIRST + timedelta(days=number)


def use(item, number, quantity="2", job=""):
    return NewFact(
        item, day(number), "use", Decimal(quantity), job=job or f"visit {number}", cause_order=number
    )


def long_ledger():
    """An item with two uses a day, more than it received at times, and a count a month."""
    item = ItemFactory()
    facts = [use(item, number) for number in range(DAYS) for _ in range(2)]
    facts += [
        NewFact(item, day(number), "receipt", Decimal(30), Decimal(200 + number) / 100)
        for number in range(0, DAYS, 9)
    ]
    facts += [NewFact(item, day(number), "count", Decimal(number % 4)) for number in range(30, DAYS, 30)]
    add_facts(facts)
    return item


def ledger_of(item):
    rows = Valuation.objects.filter(item=item).order_by("position")
    return list(rows.values_list("movement", "kind", "quantity", "cost", "on_hand", "value", "location"))


def agrees_with_the_start(item):
    stored, shelf = ledger_of(item), Shelf.objects.get(item=item)
    marks = list(Checkpoint.objects.filter(item=item).order_by("positions").values_list("positions", "state"))
    value_items([item.pk])
    again = Shelf.objects.get(item=item)
    fresh = Checkpoint.objects.filter(item=item).order_by("positions").values_list("positions", "state")
    assert stored == ledger_of(item)
    assert (shelf.state, shelf.positions, shelf.through_id) == (
        again.state,
        again.positions,
        again.through_id,
    )
    assert marks == list(fresh)
    return balances_that_differ() == []


@pytest.mark.parametrize("method", ["moving_average", "fifo"])
def test_facts_entered_behind_others_go_on_from_a_checkpoint(method):
    Profile.objects.create(name="x", valuation=method)
    item, random = long_ledger(), Random(7)
    assert Checkpoint.objects.count() == Valuation.objects.count() // ROWS_BETWEEN_CHECKPOINTS > 2

    for _ in range(4):
        receipt(item, "5", "3.33", on=day(random.randrange(DAYS)))
        add_facts([use(item, random.randrange(DAYS))])
        add_facts([NewFact(item, day(random.randrange(DAYS)), "count", Decimal(3))])
        wrong = random.choice(Movement.objects.standing().filter(item=item, kind="use"))
        reverse_movements([wrong])

    assert agrees_with_the_start(item)


def test_a_return_finds_its_uses_however_far_back_they_are():
    item = long_ledger()
    add_facts([use(item, DAYS, job="visit 3")])

    add_facts([NewFact(item, day(DAYS + 1), "visit return", Decimal(6), job="visit 3")])
    receipt(item, "5", "3.33", on=day(DAYS - 2))

    assert agrees_with_the_start(item)
    with pytest.raises(RuleBroken):
        add_facts([NewFact(item, day(DAYS + 1), "visit return", Decimal(1), job="visit 3")])


def test_a_reversal_of_a_closed_day_finds_its_original_however_far_back_it_is():
    item = long_ledger()
    original = Movement.objects.filter(item=item, kind="receipt").in_order().first()
    profile = Profile.objects.create(name="x", closed_through=day(DAYS - 5))

    reverse_movements([original])
    add_facts([use(item, DAYS - 3), use(item, DAYS + 3)])

    [row] = Valuation.objects.filter(item=item, movement__reverses=original, kind="receipt")
    assert (row.movement.date, row.quantity, row.cost) == (profile.closed_through + timedelta(1), -30, -60)
    assert agrees_with_the_start(item)


def test_a_fact_of_today_reads_and_writes_the_same_however_long_the_ledger_is():
    short, long = ItemFactory(), long_ledger()
    receipt(short, "10", "2", on=day(1))
    done = []

    for item in (short, long):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            add_facts([use(item, DAYS + 1)])
        done.append([query["sql"].split()[0] for query in queries])

    assert done[0] == done[1]
    # The state that is stored does not grow with the jobs that took from the item.
    assert len(str(Shelf.objects.get(item=long).state)) < 1000


def test_facts_typed_before_there_were_places_lie_at_the_first_one():
    item = ItemFactory()
    receipt(item, "10", "2", on=day(1))
    first = LocationFactory()

    receive_item(item, Decimal(5), Decimal(2), on=day(2), location=first)
    add_facts([NewFact(item, day(3), "count", Decimal(14), location=first)])

    assert [row[2] for row in ledger_of(item)] == [10, 5, -1]
    assert {row[6] for row in ledger_of(item)} == {first.pk}
