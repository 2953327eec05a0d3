"""Smallest valid rows of the practice."""

from datetime import date
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from practice.lib.profile import Profile
from practice.models import Client, Horse, MaterialUse, Owner, Place, Service, Vehicle, Visit, Work
from tests.factories.stock import ItemFactory

DAY = date(2026, 10, 14)


class ProfileFactory(DjangoModelFactory):
    class Meta:
        model = Profile

    name = "Garrow Farriery"
    country = "US"
    invoice_prefix = "GF"


class ClientFactory(DjangoModelFactory):
    class Meta:
        model = Client

    name = factory.Sequence(lambda n: f"Client {n}")


class PlaceFactory(DjangoModelFactory):
    class Meta:
        model = Place

    name = factory.Sequence(lambda n: f"Barn {n}")


class HorseFactory(DjangoModelFactory):
    class Meta:
        model = Horse

    name = factory.Sequence(lambda n: f"Horse {n}")
    place = factory.SubFactory(PlaceFactory)


class OwnerFactory(DjangoModelFactory):
    class Meta:
        model = Owner

    horse = factory.SubFactory(HorseFactory)
    client = factory.SubFactory(ClientFactory)
    share = Decimal(100)


class ServiceFactory(DjangoModelFactory):
    class Meta:
        model = Service

    name = factory.Sequence(lambda n: f"Trim {n}")


class VehicleFactory(DjangoModelFactory):
    class Meta:
        model = Vehicle

    name = factory.Sequence(lambda n: f"Truck {n}")


class VisitFactory(DjangoModelFactory):
    class Meta:
        model = Visit

    date = DAY
    place = factory.SubFactory(PlaceFactory)


class WorkFactory(DjangoModelFactory):
    class Meta:
        model = Work

    visit = factory.SubFactory(VisitFactory, status="done")
    horse = factory.SubFactory(HorseFactory)
    service = factory.SubFactory(ServiceFactory)
    price = Decimal(50)


class MaterialUseFactory(DjangoModelFactory):
    class Meta:
        model = MaterialUse

    visit = factory.SubFactory(VisitFactory)
    horse = factory.SubFactory(HorseFactory)
    item = factory.SubFactory(ItemFactory)
    quantity = Decimal(1)


def owned_horse(client: Client | None = None, **more) -> Horse:
    """A horse with one owner."""
    return OwnerFactory(client=client or ClientFactory(), horse=HorseFactory(**more)).horse


def trim(client: Client | None = None, on: date = DAY, price: str | None = "50", **visit) -> Work:
    """Work on an owned horse at a done visit of a day."""
    return WorkFactory(
        horse=owned_horse(client),
        visit=VisitFactory(date=on, status="done", **visit),
        price=None if price is None else Decimal(price),
    )
