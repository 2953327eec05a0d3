"""What was on the shelf on a day, where, and what it was worth."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from stock.models import Item, Location
from stock.reports.counting import shelf_key
from stock.reports.levels import levels, quantities
from stock.rules.facts import part_of

ZERO = Decimal(0)


@dataclass(frozen=True)
class ItemAtLocation:
    """How much of an item was at a location (None: the one shelf), and its part of the item's value."""

    item: Item
    location: Location | None
    quantity: Decimal
    value: Decimal


@dataclass(frozen=True)
class ShelfOn:
    """The shelf at the end of a day: its rows in shelf order, the value of each location and of all."""

    on: date
    rows: list[ItemAtLocation]
    by_location: list[tuple[Location | None, Decimal]]
    total: Decimal


def shelf_on(on: date) -> ShelfOn:
    """Return what was at each location at the end of a day; items that were not there are left out.

    One average (one queue of layers) holds over all locations: a location's part of an item's value is in
    proportion to its quantity, and the parts add up to the whole.
    """
    worth, moved = levels(on), quantities(on)
    locations: dict[int | None, Location | None] = {row.pk: row for row in Location.objects.in_order()}
    locations = locations or {None: None}
    items = sorted(Item.objects.filter(pk__in=worth), key=shelf_key)
    rows = []
    for item in items:
        at = {key: moved.get(item.pk, {}).get(key, ZERO) for key in locations}
        parts = split_value(worth[item.pk].value, list(at.values()))
        for (key, quantity), value in zip(at.items(), parts, strict=True):
            if quantity or value:
                rows.append(ItemAtLocation(item, locations.get(key), quantity, value))
    sums: dict[int | None, Decimal] = defaultdict(Decimal)
    for row in rows:
        sums[row.location.pk if row.location else None] += row.value
    by_location = [(location, sums[key]) for key, location in locations.items()]
    return ShelfOn(on, rows, by_location, sum((level.value for level in worth.values()), ZERO))


def split_value(value: Decimal, quantities: list[Decimal]) -> list[Decimal]:
    """Return the parts of a value by quantity, to four decimals; the last that has any takes the rest."""
    whole = sum(quantities, ZERO)
    if not whole:
        return [value if position == 0 else ZERO for position in range(len(quantities))]
    parts = [part_of(value, quantity, whole) for quantity in quantities]
    last = max(position for position, quantity in enumerate(quantities) if quantity)
    parts[last] += value - sum(parts, ZERO)
    return parts
