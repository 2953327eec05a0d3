"""Finding in a book of twenty years of several trucks, beside one bare LIKE over the names of its horses."""

import uuid
from datetime import date, timedelta
from decimal import Decimal
from random import Random

import pytest
from django.db import connection

from billing.models import Invoice
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place
from practice.project.find.found import find_all
from stock.models import Item
from tests.conftest import kept_for_a_module
from tests.factories.practice import DAY

pytestmark = pytest.mark.benchmark
HORSES, CLIENTS, PLACES, ITEMS, INVOICES = 3_000, 1_200, 300, 300, 40_000
SYLLABLES = (
    "bra",
    "mble",
    "ju",
    "no",
    "sor",
    "rel",
    "tan",
    "gle",
    "wil",
    "low",
    "fen",
    "mar",
    "ke",
    "da",
    "lo",
)


def some_names(chance: Random, many: int) -> list[str]:
    """Return names of two words, of two to three syllables each."""
    return [
        " ".join("".join(chance.choices(SYLLABLES, k=chance.randint(2, 3))).capitalize() for _ in range(2))
        for _ in range(many)
    ]


@pytest.fixture(scope="module")
def many_years(django_db_setup, django_db_blocker):
    with kept_for_a_module(django_db_blocker):
        fill_book()
        yield


def fill_book() -> None:
    chance = Random(20261014)
    Place.objects.bulk_create(Place(name=name) for name in some_names(chance, PLACES))
    clients = Client.objects.bulk_create(
        Client(name=name, phone=f"(555) {number // 100:03}-{number % 10_000:04}")
        for number, name in enumerate(some_names(chance, CLIENTS))
    )
    places = list(Place.objects.all())
    Horse.objects.bulk_create(
        Horse(name=name, place=chance.choice(places), status="died" if number % 3 else "active")
        for number, name in enumerate([*some_names(chance, HORSES - 1), "Bramble Fen"])
    )
    Item.objects.bulk_create(Item(name=name, kind="shoe") for name in some_names(chance, ITEMS))
    Invoice.objects.bulk_create(
        (
            Invoice(
                uuid=uuid.uuid4(),
                number=f"GF-{2006 + number // 2_000}-{number % 2_000:04}",
                client=clients[number % CLIENTS],
                issued=date(2006, 1, 1) + timedelta(days=number // 6),
                due=date(2006, 1, 1) + timedelta(days=number // 6),
                net=Decimal(100),
                tax=Decimal(0),
                total=Decimal(100),
            )
            for number in range(INVOICES)
        ),
        batch_size=500,
    )
    find_all("x", DAY, Profile())  # what was added is indexed by the first search


@pytest.mark.django_db
@pytest.mark.parametrize(
    "words",
    [
        "b",
        "bramble",
        "brambel",
        "juno tangle",
        "zzyzx",
        "(555) 003-03",
        "0187",
        "GF-2019-0187",
        "gf20190187",
        "20",
    ],
)
def test_one_search(many_years, compare, words):
    def search():
        assert find_all(words, DAY, Profile(), 8).answer

    def bare():
        with connection.cursor() as cursor:
            cursor.execute("SELECT id FROM practice_horse WHERE LOWER(name) LIKE %s LIMIT 8", [f"%{words}%"])
            cursor.fetchall()

    compare(f"find '{words}', 20 years", search, "one LIKE over the horses", bare)
