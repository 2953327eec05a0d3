"""Locations of stock."""

from django.db import transaction

from stock.actions.valuing import value_items
from stock.models import Location, Movement


@transaction.atomic
def add_location(name: str) -> Location:
    """Add a location. The first one takes over everything on the one shelf; no cost changes."""
    is_first = not Location.objects.exists()
    location = Location.objects.create(name=name)
    if is_first:
        value_items(Movement.objects.order_by().values_list("item", flat=True).distinct())
    return location
