"""A use and the truck's page, on a ledger of a million rows beside one of a thousand."""

from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.db import transaction
from django.test import Client
from django.urls import reverse

from stock.actions.movements import NewFact, add_facts
from stock.models import Item, Movement, Shelf
from stock.reports.levels import on_hand
from tests.benchmarks.ledger import ITEMS, fill
from tests.factories.practice import DAY, ProfileFactory
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.benchmark


def test_a_ledger_of_a_million_rows(empty_book, tmp_path, compare, settings):
    settings.TODAY = DAY
    browser, few = Client(), empty_book.copied_to(tmp_path / "few")
    with few.opened():
        ProfileFactory()
        for number in range(ITEMS):
            ItemFactory(pattern=f"pattern {number % 10}", size=str(number // 10))
        browser.force_login(get_user_model().objects.create_user("farrier"))
    many = few.copied_to(tmp_path / "many")
    for book, rows in ((few, 1_500), (many, 1_050_000)):
        with book.opened(), transaction.atomic():
            fill(rows)
            assert Movement.objects.count() == rows

    def use():
        item = Item.objects.first()
        with transaction.atomic():
            add_facts([NewFact(item, DAY, "use", Decimal(1))])
            assert Shelf.objects.get(item=item).on_hand == on_hand()[item.pk]
            transaction.set_rollback(True)

    def look():
        assert browser.get(reverse("stock:truck")).status_code == 200

    for what, action in (("a use", use), ("the truck's page", look)):
        compare(
            f"{what}, 1,050,000 ledger rows",
            action,
            "the same, 1,500 rows",
            action,
            within=(many.opened, few.opened),
        )
