"""What is on the shelf, now and on any day."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from stock.actions.movements import NewFact, add_facts
from stock.reports.counting import things_to_count
from stock.reports.levels import Level, levels, on_hand
from tests.factories.stock import ItemFactory, receipt

pytestmark = pytest.mark.django_db
DAY = date(2026, 1, 20)


def used(item, quantity, on):
    add_facts([NewFact(item, on, "use", Decimal(quantity))])


def test_levels_are_those_of_the_end_of_the_day():
    shoe, nail, never = ItemFactory.create_batch(3)
    receipt(shoe, "10", "3", on=DAY)
    used(shoe, 4, DAY)
    used(shoe, 6, DAY + timedelta(1))
    receipt(nail, "100", "0.05", on=DAY + timedelta(1))

    assert levels(DAY - timedelta(1)) == {}
    assert levels(DAY) == {shoe.pk: Level(6, 18)}
    assert levels(DAY + timedelta(9)) == {shoe.pk: Level(0, 0), nail.pk: Level(100, 5)}


def test_what_the_book_has_below_zero_is_to_be_counted():
    short, enough = ItemFactory.create_batch(2)
    for item, quantity in ((short, 3), (enough, 2)):
        receipt(item, "2")
        used(item, quantity, DAY)

    assert [(row.item, row.below) for row in things_to_count(DAY) if row.below] == [(short, [("", -1)])]
    assert on_hand() == {short.pk: -1, enough.pk: 0}
