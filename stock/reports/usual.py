"""What is usual for an item: how much of it came at once, and at what price."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from stock.models import Item, Movement, MovementKind


@dataclass
class PastReceipts:
    """Quantities and unit costs of an item's receipts that were not undone."""

    quantities: list[Decimal] = field(default_factory=list)
    costs: list[Decimal] = field(default_factory=list)


def past_receipts(items: Iterable[Item]) -> dict[int, PastReceipts]:
    """Return what came of these items, by the item's key; of one that never came, empty lists."""
    facts = Movement.objects.filter(item__in=items, kind=MovementKind.RECEIPT, reversal=None)
    past: dict[int, PastReceipts] = defaultdict(PastReceipts)
    for item, quantity, cost in facts.values_list("item", "quantity", "unit_cost"):
        past[item].quantities.append(quantity)
        past[item].costs.append(cost)
    return past
