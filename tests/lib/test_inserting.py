"""Many rows at once are the rows that saving each gives."""

from datetime import date
from decimal import Decimal

import pytest

from practice.lib.errors import RuleBroken
from practice.lib.inserting import insert
from stock.models import Location, Movement, MovementKind
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal


def waste(item, quantity, **more) -> Movement:
    return Movement(
        item=item, date=date(2026, 10, 14), kind=MovementKind.WASTE, quantity=quantity, rank=4, **more
    )


def test_rows_come_in_as_saving_each_would_bring_them_in():
    item, truck = ItemFactory(), Location.objects.create(name="Truck")
    quantities = [D("0.000001"), D("12.5"), D(3)]
    kept = [
        waste(item, quantity, location=truck, note="Bent — it's “done”; 100 %") for quantity in quantities
    ]

    insert(kept)
    for quantity in quantities:
        waste(item, quantity, location=truck, note="Bent — it's “done”; 100 %").save()

    names = [field.name for field in Movement._meta.fields if field.name not in ("id", "recorded_at")]
    rows = list(Movement.objects.order_by("pk").values_list(*names))
    assert rows[:3] == rows[3:]
    assert not Movement.objects.filter(recorded_at=None).exists()


def test_a_number_too_large_to_keep_is_refused_and_nothing_comes_in():
    item = ItemFactory()

    with pytest.raises(RuleBroken, match="too large to keep"):
        insert([waste(item, D(1)), waste(item, D(10) ** 9)])

    assert not Movement.objects.exists()


def test_no_rows_are_no_statement(django_assert_num_queries):
    with django_assert_num_queries(0):
        insert([])
