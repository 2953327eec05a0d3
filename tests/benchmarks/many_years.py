"""A book of many years, made by bulk insert."""

import uuid
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection, transaction

from billing.actions.accounts import keep_account_days
from billing.models import Expense, Invoice, InvoiceLine, Payment, Price, Settlement, TaxRate
from practice.models import Client, Leg, Owner, Place, Reading, Service, Vehicle, Visit, Work
from stock.models import Item, Movement, Purchase
from stock.rules.facts import RANK
from tests.benchmarks.ledger import keep_ledger
from tests.factories.practice import (
    ClientFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory

LAST_YEAR = 2025
DAYS_A_YEAR, STOPS, CLIENTS, ITEMS = 250, 8, 60, 50
ONE = 1_000_000  # an exact column counts millionths


def set_up() -> None:
    """Make the practice, its clients and horses, places, prices, items and its truck."""
    ProfileFactory(mileage_scheme="us_standard")
    VehicleFactory(name="Truck")
    TaxRate.objects.create(name="State", valid_from=date(1990, 1, 1), rate=Decimal(5))
    for _ in range(CLIENTS):
        owned_horse(ClientFactory())
    for _ in range(15):
        PlaceFactory()
    Price.objects.create(service=ServiceFactory(taxable=True), valid_from=date(1990, 1, 1), price=Decimal(50))
    for _ in range(ITEMS):
        ItemFactory()


def add_years(years: range, days_a_year: int = DAYS_A_YEAR) -> None:
    """Add these years to the book, with 8 visits and 16 legs a day, billed and paid."""
    days = driving_days(years, days_a_year)
    first = Visit.objects.count() + 1
    stops = list(enumerate((day for day in days for _ in range(STOPS)), start=first))
    service = Service.objects.get().pk
    horses = list(Owner.objects.order_by("pk").values_list("horse", "client"))
    places = list(Place.objects.values_list("pk", flat=True))
    with transaction.atomic():
        work_of(stops, places, [horse for horse, _ in horses], service)
        bill_and_settle(stops, horses, service)
        drive(days, stops, Vehicle.objects.get())
        insert(
            Expense,
            "uuid ref date category amount vendor note receipt",
            ((new_key(), "", day, "vehicle fuel", 48 * ONE, "", "", "") for day in days),
        )
        stock_the_shelf(days, list(Item.objects.all()))
        for client in Client.objects.all():
            keep_account_days(client)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def insert(model, names: str, rows: Iterable[tuple]) -> None:
    """Write rows as they are: `names` are fields, numbers of exact ones in millionths."""
    columns = [model._meta.get_field(name).column for name in names.split()]
    marks = ", ".join(["%s"] * len(columns))
    quoted = ", ".join(connection.ops.quote_name(column) for column in columns)
    plain = [tuple(f"{value}" if isinstance(value, date) else value for value in row) for row in rows]
    with connection.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {model._meta.db_table} ({quoted}) VALUES ({marks})", plain)


def new_key() -> str:
    return uuid.uuid4().hex


def driving_days(years: range, days_a_year: int) -> list[date]:
    return [
        date(year, 1, 1) + timedelta(days=day * 365 // days_a_year)
        for year in years
        for day in range(days_a_year)
    ]


def work_of(stops: list[tuple[int, date]], places: list[int], horses: list[int], service: int) -> None:
    """One visit a stop with two works."""
    insert(
        Visit,
        "id uuid ref date place status billed note locked",
        ((key, new_key(), "", day, places[key % len(places)], "done", False, "", True) for key, day in stops),
    )
    insert(
        Work,
        "uuid visit horse service quantity note",
        (
            (new_key(), key, horses[(key + extra) % CLIENTS], service, ONE, "")
            for key, _ in stops
            for extra in range(2)
        ),
    )


def bill_and_settle(stops: list[tuple[int, date]], owned: list[tuple[int, int]], service: int) -> None:
    """One invoice a visit, of two lines, paid a fortnight later; every hundredth is paid by half."""
    insert(
        Invoice,
        "id uuid number client issued due net tax total credit_applied"
        " client_name client_address practice_name practice_address",
        (
            (
                key,
                new_key(),
                f"{key:06d}",
                owned[key % CLIENTS][1],
                day,
                day,
                100 * ONE,
                5 * ONE,
                105 * ONE,
                0,
                *[""] * 4,
            )
            for key, day in stops
        ),
    )
    insert(
        InvoiceLine,
        "invoice client kind visit horse service quantity unit_price share net tax_names tax_rates tax_areas"
        " rebilled",
        (
            (
                key,
                client,
                "service",
                key,
                horse,
                service,
                ONE,
                50 * ONE,
                100 * ONE,
                50 * ONE,
                "State",
                "5",
                "",
                0,
            )
            for key, _ in stops
            for horse, client in [owned[key % CLIENTS]] * 2
        ),
    )
    paid = [(key, day + timedelta(14), 52 * ONE if key % 100 == 0 else 105 * ONE) for key, day in stops]
    insert(
        Payment,
        "id uuid ref date client amount method bounced tip check_number note",
        (
            (key, new_key(), "", day, owned[key % CLIENTS][1], amount, "check", False, 0, "", "")
            for key, day, amount in paid
        ),
    )
    insert(
        Settlement,
        "payment invoice date amount by_hand",
        ((key, key, day, amount, False) for key, day, amount in paid),
    )


def drive(days: list[date], stops: list[tuple[int, date]], truck: Vehicle) -> None:
    """Two legs a stop, and the odometer morning and evening; half a mile a day is not logged."""
    legs, readings, a_day = [], [], 53_300_000
    odometer = (days[0].year - 1990) * DAYS_A_YEAR * a_day
    for number, day in enumerate(days):
        readings.append((day, truck.pk, "start", odometer))
        for key, _ in stops[number * STOPS : (number + 1) * STOPS]:
            for purpose, distance in (("business", 6_200_000), ("personal", 400_000)):
                legs.append((new_key(), day, truck.pk, distance, purpose, "", "", "", key))
                odometer += distance
        odometer += ONE // 2
        readings.append((day, truck.pk, "end", odometer))
    insert(Reading, "date vehicle at reading", readings)
    insert(Leg, "uuid date vehicle distance purpose origin destination reason visit", legs)


def stock_the_shelf(days: list[date], items: list[Item]) -> None:
    """On every driving day half of the items come, one of each, and every other time go again."""
    insert(
        Movement,
        "item date kind quantity unit_cost job rank cause_order note recorded_at",
        (
            (item.pk, day, kind, ONE, cost, "", RANK[kind], 0, "", f"{day} 12:00:00+00:00")
            for number, day in enumerate(days)
            for item in items[number % 2 :: 2]
            for kind, cost in (("receipt", ONE), ("use", None))[: 1 + number % 4 // 2]
        ),
    )
    keep_ledger()
    receipts = Movement.objects.filter(kind="receipt", purchase=None).values_list("pk", "date")
    insert(
        Purchase,
        "movement reference paid_on lot",
        ((key, "", day + timedelta(12), "") for key, day in receipts),
    )
