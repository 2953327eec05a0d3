"""A ledger of many rows, made by bulk insert."""

from datetime import date, timedelta
from fractions import Fraction

from django.db import connection

from stock.models import Balance, Item, Shelf, Valuation
from stock.rules.facts import RANK, CostingState

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
        for day in range(days):
            on = (BEGIN + timedelta(days=day)).isoformat()
            for kind, cost, times in (("receipt", 1000000, 2), ("use", None, 1)):
                cursor.execute(FACTS, [each * times, on, kind, cost, RANK[kind], f"{on} 12:00:00+00:00"])
    keep_ledger()


def keep_ledger() -> None:
    """Write the rows of every item's ledger, of facts at 1 apiece, and what is on its shelf."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM stock_shelf")
        cursor.execute("DELETE FROM stock_balance")
        cursor.execute("DELETE FROM stock_valuation")
        cursor.execute(ROWS)
        cursor.execute("ANALYZE")
    for item in Item.objects.all():
        last = Valuation.objects.filter(item=item).latest("position")
        state = CostingState(quantity=last.on_hand, value=last.value, last_cost=Fraction(1))
        state.known = state.begun = True
        state.at = {None: state.quantity}
        Shelf.objects.create(
            item=item,
            on_hand=state.quantity,
            value=state.value,
            positions=last.position + 1,
            through=last.movement,
            state=state.as_plain(),
        )
        Balance.objects.create(item=item, quantity=state.quantity)
