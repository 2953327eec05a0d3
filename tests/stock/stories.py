"""Facts of one item for the tests of costing, and its ledger as text."""

from datetime import date, timedelta
from decimal import Decimal

from stock.rules.facts import Fact

AVERAGE, FIFO = "moving_average", "fifo"
FIRST = date(2026, 1, 1)


def fact(key, kind, quantity, unit_cost=None, day=None, **more):
    on = FIRST + timedelta(days=key if day is None else day)
    cost = None if unit_cost is None else Decimal(unit_cost)
    return Fact(key, on, kind, Decimal(quantity), cost, **more)


def story(*steps):
    """Facts of successive days: ("receipt", 10, "8.00"), ("use", 4) …"""
    return [fact(number, *step) for number, step in enumerate(steps)]


def cost_of_uses(ledger):
    return -sum(row.cost for row in ledger.rows if row.kind in ("use", "correction"))


def rows(ledger):
    return [
        (row.kind, str(row.quantity), str(row.cost), str(row.on_hand), str(row.value)) for row in ledger.rows
    ]
