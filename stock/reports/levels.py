"""What is on the shelf."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Exists, OuterRef, Subquery, Sum

from practice.lib.fields import ExactField
from stock.models import Balance, Item, Location, Movement, Shelf, Valuation
from stock.models.movement import ORDER


def on_hand() -> dict[int, Decimal]:
    """Return what is on hand by the item's key, all locations together, as stored beside the facts."""
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
    """Return how much was on hand at the end of a day, by the item's and the location's key.

    That is what is there now, less what moved after that day: the whole ledger is not added up.
    """
    by_item: dict[int, dict] = defaultdict(dict)
    for item, location, quantity in Balance.objects.values_list("item", "location", "quantity"):
        by_item[item][location] = quantity
    # Naming the items lets the index of facts be used.
    after = Valuation.objects.filter(movement__item__in=Item.objects.values("pk"), movement__date__gt=on)
    moved = after.order_by().values_list("item", "location")
    for item, location, quantity in moved.annotate(sum=Sum("quantity", output_field=ExactField())):
        by_item[item][location] = by_item[item].get(location, Decimal(0)) - quantity
    return dict(by_item)


def quantities_at(on: date, location: Location | None) -> dict[int, Decimal]:
    """Return what was on hand at a location (None: the one shelf) at the end of a day, by item key."""
    key = location.pk if location else None
    return {item: at_each[key] for item, at_each in quantities(on).items() if key in at_each}
