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
    """What lay of an item at a place (None: the one shelf) and its part of the item's value."""

    item: Item
    location: Location | None
    quantity: Decimal
    value: Decimal


@dataclass(frozen=True)
class ShelfOn:
    """The shelf at the end of a day: its rows as things lie, and what each place and all came to."""

    on: date
    rows: list[ItemAtLocation]
    by_place: list[tuple[Location | None, Decimal]]
    total: Decimal


def shelf_on(on: date) -> ShelfOn:
    """Return what lay at each place at the end of a day; what was not there is left out.

    One average (one queue of layers) holds over all places: a place's part of an item's value is in
    proportion to its quantity, and the parts add up to the whole.
    """
    worth, there = levels(on), quantities(on)
    places: dict[int | None, Location | None] = {row.pk: row for row in Location.objects.order_by("pk")}
    items = sorted(Item.objects.filter(pk__in=worth), key=shelf_key)
    rows = []
    for item in items:
        at = {key: there.get(item.pk, {}).get(key, ZERO) for key in places or {None: None}}
        parts = split_value(worth[item.pk].value, list(at.values()))
        for (key, quantity), value in zip(at.items(), parts, strict=True):
            if quantity or value:
                rows.append(ItemAtLocation(item, places.get(key), quantity, value))
    sums: dict[int | None, Decimal] = defaultdict(Decimal)
    for row in rows:
        sums[row.location.pk if row.location else None] += row.value
    by_place = [(place, sums[key]) for key, place in (places or {None: None}).items()]
    return ShelfOn(on, rows, by_place, sum((level.value for level in worth.values()), ZERO))


def split_value(value: Decimal, quantities: list[Decimal]) -> list[Decimal]:
    """Return the parts of a value by quantity, to four decimals; the last that has any takes the rest."""
    whole = sum(quantities, ZERO)
    if not whole:
        return [value if place == 0 else ZERO for place in range(len(quantities))]
    parts = [part_of(value, quantity, whole) for quantity in quantities]
    last = max(place for place, quantity in enumerate(quantities) if quantity)
    parts[last] += value - sum(parts, ZERO)
    return parts
