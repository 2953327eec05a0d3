"""Whether what is stored beside a ledger is what its rows add up to."""

from collections import defaultdict
from decimal import Decimal

from stock.models import Balance, Shelf, Valuation


def balances_that_differ() -> list[tuple[int, str]]:
    """Return (item key, what differs) where what is stored is not what the ledger's rows add up to.

    Compared are on hand and value of each shelf, and the balance at each location.
    """
    quantities, values, differing = defaultdict(lambda: defaultdict(int)), defaultdict(int), []
    rows = Valuation.objects.values_list("item", "location", "quantity", "cost")
    for item_id, location, quantity, cost in rows.iterator(chunk_size=5000):
        quantities[item_id][location] += quantity
        values[item_id] += cost
    balances = defaultdict(dict)
    for item_id, location, quantity in Balance.objects.values_list("item", "location", "quantity"):
        balances[item_id][location] = quantity
    for shelf in Shelf.objects.order_by("item"):
        stored = shelf.on_hand, shelf.value, balances[shelf.item_id]
        by_location = quantities[shelf.item_id]
        added_up = sum(by_location.values()), values[shelf.item_id], dict(by_location)
        if stored != added_up:
            differing.append(
                (shelf.item_id, f"{_in_words(*stored)} stored, {_in_words(*added_up)} in the ledger")
            )
    return differing


def _in_words(on_hand: Decimal, value: Decimal, balances: dict) -> str:
    """Return `12 (8, 4) worth 36`: what is on hand, how much at each location, and its value."""
    at_each = ", ".join(f"{quantity:f}" for quantity in balances.values())
    return f"{on_hand:f} ({at_each}) worth {value:f}"
