"""What is on the shelf."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from stock.models import Item, Movement, MovementKind, Shelf


def on_hand() -> dict[int, Decimal]:
    """Return what is on hand by the item's key, all locations together, as kept beside the facts."""
    return dict(Shelf.objects.values_list("item", "on_hand"))


@dataclass(frozen=True)
class RunningLow:
    """An item with less on hand than was used in the days that an order takes. Quantities in its unit."""

    item: Item
    on_hand: Decimal
    used: Decimal


def running_low(on: date, days: int) -> list[RunningLow]:
    """Return active items of which no more is on hand than was used in the last `days`, emptiest first.

    A look back, no forecast: the planner of orders is another matter.
    """
    facts = Movement.objects.standing().filter(
        kind=MovementKind.USE, date__gt=on - timedelta(days), date__lte=on
    )
    used: dict[int, Decimal] = defaultdict(Decimal)
    for item, quantity in facts.values_list("item", "quantity"):
        used[item] += quantity
    left = on_hand()
    rows = [
        RunningLow(item, left.get(item.pk, Decimal(0)), used[item.pk])
        for item in Item.objects.current().filter(pk__in=used)
    ]
    low = [row for row in rows if row.on_hand <= row.used]
    return sorted(low, key=lambda row: (row.on_hand / row.used, row.item.pk))
