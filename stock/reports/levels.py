"""What is on the shelf."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Exists, OuterRef, Subquery, Sum

from practice.lib.fields import ExactField
from stock.models import Item, Location, Movement, Shelf, Valuation
from stock.models.movement import ORDER


def on_hand() -> dict[int, Decimal]:
    """Return what is on hand by the item's key, all locations together, as kept beside the facts."""
    return dict(Shelf.objects.values_list("item", "on_hand"))


@dataclass(frozen=True)
class Level:
    """What was on hand of an item, all locations together, and what it was worth."""

    on_hand: Decimal
    value: Decimal


def levels(on: date) -> dict[int, Level]:
    """Return what was on hand at the end of a day, by the key of each item that had moved by then.

    Reads one fact an item, the last one by then that has rows in the ledger, however long that is.
    """
    facts = Movement.objects.filter(Exists(Valuation.objects.filter(movement=OuterRef("pk"))))
    last = facts.filter(item=OuterRef("pk"), date__lte=on).order_by(*(f"-{name}" for name in ORDER))
    items = Item.objects.annotate(last=Subquery(last.values("pk")[:1])).filter(last__isnull=False)
    rows = Valuation.objects.filter(movement__in=items.values("last")).order_by("position")
    return {item: Level(*level) for item, *level in rows.values_list("item", "on_hand", "value")}


def quantities(on: date) -> dict[int, dict[int | None, Decimal]]:
    """Return how much of each item lay at each location at the end of a day, by their keys, if any moved."""
    rows = Valuation.objects.filter(movement__date__lte=on).order_by().values_list("item", "location")
    found: dict[int, dict] = defaultdict(dict)
    for item, location, quantity in rows.annotate(there=Sum("quantity", output_field=ExactField())):
        found[item][location] = quantity
    return dict(found)


def quantities_at(on: date, location: Location | None) -> dict[int, Decimal]:
    """Return how much of each item lay at one location (None: the one shelf) at the end of a day."""
    key = location.pk if location else None
    return {item: there[key] for item, there in quantities(on).items() if key in there}


def to_count() -> list[Item]:
    """Return the items that the book has below zero, all locations together: there the book is wrong."""
    return list(Item.objects.filter(shelf__on_hand__lt=0).order_by("pk"))
