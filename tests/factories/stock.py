"""Smallest valid rows of stock."""

from datetime import date
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from stock.actions.movements import receive_item
from stock.models import Found, Item, Location, Order, OrderLine, Supplier


class SupplierFactory(DjangoModelFactory):
    class Meta:
        model = Supplier

    name = factory.Sequence(lambda n: f"Supplier {n}")


class LocationFactory(DjangoModelFactory):
    class Meta:
        model = Location

    name = factory.Sequence(lambda n: f"Location {n}")


class ItemFactory(DjangoModelFactory):
    class Meta:
        model = Item

    name = factory.Sequence(lambda n: f"Front shoe, size {n:04}")
    kind = "shoe"


def receipt(item: Item, quantity: str, unit_cost: str = "1", on: date = date(2026, 1, 2)):
    """Receive a delivery of `quantity` units."""
    return receive_item(item, Decimal(quantity), Decimal(unit_cost), on=on)


class OrderFactory(DjangoModelFactory):
    class Meta:
        model = Order

    ordered_on = date(2026, 10, 1)


class OrderLineFactory(DjangoModelFactory):
    class Meta:
        model = OrderLine

    order = factory.SubFactory(OrderFactory)
    item = factory.SubFactory(ItemFactory)
    quantity = Decimal(20)
    pack_size = Decimal(10)


class FoundFactory(DjangoModelFactory):
    class Meta:
        model = Found

    item = factory.SubFactory(ItemFactory)
    date = date(2026, 10, 14)
    quantity = Decimal(1)
