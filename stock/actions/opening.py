"""The shelf as a new book begins: items with their first counts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.names import plain_name
from stock.actions.movements import NewFact, add_facts, count_item, reverse_movements
from stock.models import Fits, Item, MovementKind
from stock.models.item import SINGLY


@dataclass(frozen=True)
class OpeningItem:
    """An item to be made; `counted` in its unit, None where it was not counted, `unit_cost` of one unit."""

    name: str
    kind: str
    counted: Decimal | None = None
    unit_cost: Decimal | None = None
    unit: str = SINGLY
    pattern: str = ""
    size: str = ""
    fits: str = Fits.ANY
    pack_size: Decimal = Decimal(1)


@transaction.atomic
def open_shelf(rows: Sequence[OpeningItem], on: date) -> list[Item]:
    """Make these items with what was counted of each at the end of a day; return them.

    Raises RuleBroken("item_exists") for a name that is in the book, and as `add_facts`; then none is made.
    """
    known = {plain_name(name) for name in Item.objects.values_list("name", flat=True)}
    for row in rows:
        if plain_name(row.name) in known:
            raise RuleBroken(
                "item_exists", f"{row.name} is on the truck already. Count it there, or change the name."
            )
        known.add(plain_name(row.name))
    plain = ("name", "kind", "unit", "pattern", "size", "fits", "pack_size")
    items = [Item.objects.create(**{name: getattr(row, name) for name in plain}) for row in rows]
    add_facts(
        [
            NewFact(item, on, MovementKind.COUNT, row.counted, row.unit_cost)
            for item, row in zip(items, rows, strict=True)
            if row.counted is not None
        ]
    )
    return items


@transaction.atomic
def raise_opening(item: Item, quantity: Decimal, on: date) -> None:
    """Let an item's first count include what is now entered as used on a day, so that what is on hand stays.

    The first count was of what was there after that use. It moves to the day before it, where it is later,
    with so much more. Without a first count nothing is changed. Raises RuleBroken as `count_item`.
    """
    first = Item.objects.get(pk=item.pk).movements.standing().in_order().first()
    if first is None or first.kind != MovementKind.COUNT:
        return
    reverse_movements([first])
    count_item(
        item,
        first.quantity + quantity,
        on=min(first.date, on - timedelta(days=1)),
        location=first.location,
        unit_cost=first.unit_cost,
    )
