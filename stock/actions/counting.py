"""Counting a location: counts are saved as they are typed, reviewed, and posted all at once."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.movements import count_item
from stock.models import Found, Item, Location
from stock.reports.counting import CountDifference, CountReview, found_at, sheet_of, shelf_key
from stock.reports.levels import Level, levels, quantities_at


@dataclass(frozen=True)
class TypedCount:
    """What was typed for an item: the quantity, None where it was emptied, and the cost of one unit."""

    quantity: Decimal | None
    unit_cost: Decimal | None = None


@transaction.atomic
def save_counts(location: Location | None, on: date, typed: Mapping[Item, TypedCount]) -> None:
    """Save what was typed on a location's sheet; lines that are not in `typed` stay as they were.

    All lines of a sheet are of one day: the last one that was typed.
    """
    # Whoever fills in the same sheet on another device waits here.
    Profile.locked()
    saved = {row.item_id: row for row in found_at(location)}
    for item, values in typed.items():
        row = saved.get(item.pk)
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
    """Post the counts of a location's sheet and empty it. Returns how many items were counted.

    Raises RuleBroken("sheet_is_empty"), or as `count_item` for a closed day; then the sheet stays.
    """
    Profile.locked()
    rows = found_at(location)
    if not rows:
        raise RuleBroken("sheet_is_empty", "Nothing is filled in on this sheet yet. Type at least one count.")
    # In the order of keys, as everything that locks several shelves does.
    for row in sorted(rows, key=lambda row: row.item_id):
        count_item(row.item, row.quantity, on=row.date, location=location, unit_cost=row.unit_cost)
    Found.objects.filter(pk__in=[row.pk for row in rows]).delete()
    return len(rows)


class _OnlyTried(Exception):
    """Ends the transaction without saving anything."""


def try_counts(location: Location | None) -> list[CountDifference]:
    """Return what posting a location's sheet would change, in shelf order: tried, and nothing is saved.

    Raises RuleBroken as `post_counts`.
    """
    differences = []
    try:
        with transaction.atomic():
            rows = sorted(found_at(location), key=lambda row: shelf_key(row.item))
            before = _in_the_book(rows, location)
            post_counts(location)
            after = _in_the_book(rows, location)
            for row in rows:
                (book, value_before), (_, value_after) = before[row.item_id], after[row.item_id]
                differences.append(CountDifference(row.item, book, row.quantity, value_after - value_before))
            raise _OnlyTried
    except _OnlyTried:
        return differences


def review_counts(location: Location | None) -> CountReview:
    """Return what posting a location's sheet would change, or why it would be refused."""
    sheet = sheet_of(location)
    try:
        return CountReview(sheet, try_counts(location))
    except RuleBroken as error:
        return CountReview(sheet, [], str(error))


def _in_the_book(rows: list[Found], location: Location | None) -> dict[int, tuple[Decimal, Decimal]]:
    """Return what the book has of each line at the end of its day: quantity at the location, value in all."""
    if not rows:
        return {}
    on, nothing = rows[0].date, Level(Decimal(0), Decimal(0))
    quantities, values = quantities_at(on, location), levels(on)
    return {
        row.item_id: (quantities.get(row.item_id, Decimal(0)), values.get(row.item_id, nothing).value)
        for row in rows
    }
