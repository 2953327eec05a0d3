"""What a look and a use cost does not grow with the ledger: balances are kept beside it."""

import time
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from statistics import median

import pytest
from django.db import connection, transaction
from django.urls import reverse

from stock.actions.movements import NewFact, add_facts
from stock.models import Balance, Item, Movement, Shelf
from stock.reports.levels import on_hand
from stock.rules.facts import RANK, CostingState
from tests.factories.practice import DAY, ProfileFactory
from tests.factories.stock import ItemFactory

ITEMS, BEGIN = 50, date(2020, 1, 1)
FACTS = """
INSERT INTO stock_movement
    (item_id, date, kind, quantity, unit_cost, job, rank, cause_order, note, recorded_at)
WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %s)
SELECT stock_item.id, %s, %s, 1000000, %s, '', %s, 0, '', %s FROM stock_item CROSS JOIN n
"""
ROWS = """
INSERT INTO stock_valuation (item_id, position, movement_id, kind, quantity, cost, on_hand, value)
SELECT item_id, row_number() OVER w - 1, id, kind, moved, moved, sum(moved) OVER w, sum(moved) OVER w
FROM (SELECT *, CASE kind WHEN 'use' THEN -quantity ELSE quantity END AS moved FROM stock_movement) AS facts
WINDOW w AS (PARTITION BY item_id ORDER BY date, rank, cause_order, id)
"""


def fill(rows: int) -> None:
    """Make a ledger of so many rows: each day two of each item come for one that is used, at 1 apiece."""
    days = min(rows // ITEMS // 3, 700)
    each = rows // ITEMS // days // 3
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM stock_shelf")
        cursor.execute("DELETE FROM stock_balance")
        cursor.execute("DELETE FROM stock_valuation")
        for day in range(days):
            on = (BEGIN + timedelta(days=day)).isoformat()
            for kind, cost, times in (("receipt", 1000000, 2), ("use", None, 1)):
                cursor.execute(FACTS, [each * times, on, kind, cost, RANK[kind], f"{on} 12:00:00+00:00"])
        cursor.execute(ROWS)
        cursor.execute("ANALYZE")
    for item in Item.objects.all():
        facts = Movement.objects.filter(item=item)
        count = facts.count()
        state = CostingState(quantity=Decimal(count // 3), value=Decimal(count // 3), last_cost=Fraction(1))
        state.known = state.begun = True
        state.at = {None: state.quantity}
        Shelf.objects.create(
            item=item,
            on_hand=state.quantity,
            value=state.value,
            positions=count,
            through=facts.in_order().last(),
            state=state.as_plain(),
        )
        Balance.objects.create(item=item, quantity=state.quantity)


def milliseconds(action, times: int = 9) -> float:
    took = []
    for _ in range(times):
        begin = time.process_time()
        action()
        took.append((time.process_time() - begin) * 1000)
    return median(took)


def costs(browser) -> dict[str, float]:
    """Return what looking at the shelf and using something take, in milliseconds."""
    item = Item.objects.first()

    def use():
        with transaction.atomic():
            add_facts([NewFact(item, DAY, "use", Decimal(1))])
            assert Shelf.objects.get(item=item).on_hand == on_hand()[item.pk]
            transaction.set_rollback(True)

    def look(address):
        assert browser.get(address).status_code == 200

    return {
        "the truck, its items and size grid": milliseconds(lambda: look(reverse("stock:truck"))),
        "a use at today's date": milliseconds(use),
    }


@pytest.mark.slow
@pytest.mark.django_db
def test_a_ledger_of_a_million_rows_is_as_quick_as_one_of_a_thousand(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    for number in range(ITEMS):
        ItemFactory(pattern=f"pattern {number % 10}", size=str(number // 10))
    found = {}
    for rows in (1_500, 1_050_000):
        with transaction.atomic():
            fill(rows)
            found[Movement.objects.count()] = costs(browser)
            transaction.set_rollback(True)

    few, many = found.values()
    for what, took in few.items():
        print(f"{what}: {took:.1f} ms at {min(found):,} rows, {many[what]:.1f} ms at {max(found):,}")
    assert max(found) >= 1_000_000
    assert {what: many[what] < 1.6 * few[what] + 4 for what in few} == dict.fromkeys(few, True)
