"""Smallest valid rows of the practice."""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from practice.lib.profile import Profile
from practice.models import (
    Client,
    Finding,
    FootRecord,
    Horse,
    HorseTime,
    Leg,
    LegChange,
    MaterialUse,
    OdometerChange,
    Owner,
    Photo,
    Place,
    Prescription,
    Reading,
    Service,
    Vehicle,
    Visit,
    Work,
)
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


class ReadingFactory(DjangoModelFactory):
    class Meta:
        model = Reading

    date = DAY
    vehicle = factory.SubFactory(VehicleFactory)
    at = "start"
    reading = Decimal("84198.0")


class OdometerChangeFactory(DjangoModelFactory):
    class Meta:
        model = OdometerChange

    date = DAY
    vehicle = factory.SubFactory(VehicleFactory)
    last = Decimal("84208.0")
    first = Decimal(0)


class LegFactory(DjangoModelFactory):
    class Meta:
        model = Leg

    date = DAY
    vehicle = factory.SubFactory(VehicleFactory)
    distance = Decimal(5)
    purpose = "personal"


class LegChangeFactory(DjangoModelFactory):
    class Meta:
        model = LegChange

    leg = factory.Faker("uuid4", cast_to=None)
    what = "changed"
    at = datetime(2026, 10, 15, 7, 30, tzinfo=UTC)
    date = DAY
    vehicle = factory.SubFactory(VehicleFactory)
    distance = Decimal(4)
    purpose = "personal"


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


class HorseTimeFactory(DjangoModelFactory):
    class Meta:
        model = HorseTime

    visit = factory.SubFactory(VisitFactory)
    horse = factory.SubFactory(HorseFactory)
    began = time(9, 20)
    finished = time(9, 52)


class MaterialUseFactory(DjangoModelFactory):
    class Meta:
        model = MaterialUse

    visit = factory.SubFactory(VisitFactory)
    horse = factory.SubFactory(HorseFactory)
    item = factory.SubFactory(ItemFactory)
    quantity = Decimal(1)


class FindingFactory(DjangoModelFactory):
    class Meta:
        model = Finding

    visit = factory.SubFactory(VisitFactory)
    horse = factory.SubFactory(HorseFactory)
    foot = "LF"
    zone = "sole"
    kind = "red sole"


class FootRecordFactory(DjangoModelFactory):
    class Meta:
        model = FootRecord

    visit = factory.SubFactory(VisitFactory)
    horse = factory.SubFactory(HorseFactory)
    foot = "LF"


class PrescriptionFactory(DjangoModelFactory):
    class Meta:
        model = Prescription

    horse = factory.SubFactory(HorseFactory)
    foot = "LF"
    valid_from = DAY


class PhotoFactory(DjangoModelFactory):
    class Meta:
        model = Photo

    horse = factory.SubFactory(HorseFactory)
    taken_on = DAY


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
