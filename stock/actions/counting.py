"""Counting a place: what was found is kept as it is typed, looked at, and posted in one go."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.movements import count_item
from stock.models import Found, Item, Location
from stock.reports.counting import found_at, shelf_key
from stock.reports.levels import Level, levels, quantities_at


@dataclass(frozen=True)
class TypedCount:
    """What was typed of an item: the quantity found, None where it was emptied, and the cost of one."""

    quantity: Decimal | None
    unit_cost: Decimal | None = None


@dataclass(frozen=True)
class CountDifference:
    """What posting a line changes: what the book says at its place, what was found, what that is worth."""

    item: Item
    book: Decimal
    found: Decimal
    cost: Decimal

    @property
    def quantity(self) -> Decimal:
        return self.found - self.book


@transaction.atomic
def keep_found(location: Location | None, on: date, typed: Mapping[Item, TypedCount]) -> None:
    """Keep what was typed on a place's sheet; lines that are not in `typed` stay as they were.

    All lines of a sheet are of one day: the last one that was said.
    """
    # Whoever fills in the same sheet on another device waits here.
    Profile.locked()
    kept = {row.item_id: row for row in found_at(location)}
    for item, values in typed.items():
        row = kept.get(item.pk)
        if values.quantity is None:
            if row:
                row.delete()
            continue
        row = row or Found(item=item, location=location)
        row.date, row.quantity, row.unit_cost = on, values.quantity, values.unit_cost
        row.save()
    Found.objects.filter(pk__in=[row.pk for row in found_at(location) if row.date != on]).update(date=on)


@transaction.atomic
def post_counts(location: Location | None) -> int:
    """Post what was found at a place, and begin its sheet anew. Returns how many items were counted.

    Raises RuleBroken for a closed day, or where nothing is filled in; then the sheet stays.
    """
    Profile.locked()
    rows = found_at(location)
    if not rows:
        raise RuleBroken("Nothing is filled in on this sheet yet.")
    # In the order of keys, as all who lock several shelves do.
    for row in sorted(rows, key=lambda row: row.item_id):
        count_item(row.item, row.quantity, on=row.date, location=location, unit_cost=row.unit_cost)
    Found.objects.filter(pk__in=[row.pk for row in rows]).delete()
    return len(rows)


class _OnlyTried(Exception):
    """Ends the transaction without keeping anything."""


def try_counts(location: Location | None) -> list[CountDifference]:
    """Return what posting a place's sheet would change, as its things lie: tried, and nothing is kept.

    Raises RuleBroken as `post_counts`.
    """
    differences = []
    try:
        with transaction.atomic():
            rows = sorted(found_at(location), key=lambda row: shelf_key(row.item))
            before = _standing(rows, location)
            post_counts(location)
            after = _standing(rows, location)
            for row in rows:
                (book, worth), (_, now) = before[row.item_id], after[row.item_id]
                differences.append(CountDifference(row.item, book, row.quantity, now - worth))
            raise _OnlyTried
    except _OnlyTried:
        return differences


def _standing(rows: list[Found], location: Location | None) -> dict[int, tuple[Decimal, Decimal]]:
    """Return what the book says of each line at the end of its day: quantity at the place, value in all."""
    if not rows:
        return {}
    on, nothing = rows[0].date, Level(Decimal(0), Decimal(0))
    there, worth = quantities_at(on, location), levels(on)
    return {
        row.item_id: (there.get(row.item_id, Decimal(0)), worth.get(row.item_id, nothing).value)
        for row in rows
    }
