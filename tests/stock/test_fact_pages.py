"""Pages of facts: recorded by hand, shown with their cause, undone; and stock locations."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from practice.actions.visits import complete_visit
from practice.lib.errors import RuleBroken
from stock.actions.locations import add_location
from stock.actions.movements import NewFact, add_facts, receive_item, undo_fact
from stock.models import Balance, Location, Movement, Shelf, Valuation
from tests.factories.practice import MaterialUseFactory, ProfileFactory
from tests.factories.stock import ItemFactory, LocationFactory, SupplierFactory, receipt

pytestmark = pytest.mark.django_db
DAY = date(2026, 1, 5)
D = Decimal


def ledger_of(item):
    rows = Valuation.objects.filter(item=item).order_by("position")
    return list(rows.values_list("kind", "location__name", "quantity", "cost", "on_hand", "value"))


def words(answer):
    """The text of a page's table rows, blanks as one."""
    rows = re.findall(r"<tr>(.*?)</tr>", answer.content.decode(), re.DOTALL)
    return [" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in rows]


@pytest.mark.parametrize(
    ("page", "kind", "signed"),
    [("waste", "waste", -2), ("withdraw", "withdrawal", -2), ("return", "return", -2)],
)
def test_what_left_otherwise_is_recorded_on_its_page(browser, page, kind, signed):
    shop, truck = LocationFactory(name="Shop"), LocationFactory(name="Truck")
    item = ItemFactory()
    receive_item(item, D(10), D(3), on=DAY, location=truck)

    browser.post(
        reverse(f"stock:item-{page}", args=[item.pk]),
        {"date": DAY.isoformat(), "quantity": "2", "location": truck.pk, "note": "bent"},
    )

    assert ledger_of(item)[1:] == [(kind, "Truck", signed, -6, 8, 24)]
    assert Movement.objects.last().note == "bent"
    assert shop.balances.count() == 0


def test_a_transfer_is_recorded_on_its_page_and_not_to_where_the_item_is(browser):
    shop, truck = LocationFactory(name="Shop"), LocationFactory(name="Truck")
    item = ItemFactory()
    receipt(item, "10", "3")
    address = reverse("stock:item-transfer", args=[item.pk])
    typed = {"date": DAY.isoformat(), "quantity": "4", "location": shop.pk}

    wrong = browser.post(address, typed | {"to_location": shop.pk})
    browser.post(address, typed | {"to_location": truck.pk})

    assert wrong.context["form"].non_field_errors() == [
        "It is already there. Choose a different location to move it to."
    ]
    assert dict(Balance.objects.values_list("location__name", "quantity")) == {"Shop": 6, "Truck": 4}


def test_where_there_is_one_shelf_no_page_asks_for_a_location(browser):
    item = ItemFactory()

    fields = browser.get(reverse("stock:item-waste", args=[item.pk])).context["form"].fields

    assert list(fields) == ["date", "quantity", "note"]


def test_the_ledger_shows_what_caused_each_row(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    item = ItemFactory()
    receive_item(item, D(10), D(3), on=DAY, supplier=SupplierFactory(name="Tarn Iron"), reference="slip 7")
    add_facts([NewFact(item, DAY, "waste", D(1), note="burnt thin")])

    rows = words(browser.get(reverse("stock:item-detail", args=[item.pk])))

    assert rows[-2:] == [
        "Jan 5 Waste, burnt thin Undo −1 −3.00 9 27.00",
        "Jan 5 Receipt, Tarn Iron, slip 7 Undo +10 30.00 10 30.00",
    ]


def test_a_fact_is_undone_from_the_ledger(browser):
    item = ItemFactory()
    receipt(item, "10", "3")
    wrong = receipt(item, "10", "9")
    address = reverse("stock:fact-reverse", args=[wrong.pk])

    assert browser.get(address).context["fact"] == wrong
    answer = browser.post(address)

    assert answer.headers["Location"] == reverse("stock:item-detail", args=[item.pk])
    assert Shelf.objects.values_list("on_hand", "value").get() == (10, 30)


def test_what_a_visit_used_is_not_undone_here():
    item = ItemFactory()
    receipt(item, "10", "3")
    [use] = add_facts([NewFact(item, DAY, "use", D(4), job="1/1")])

    with pytest.raises(RuleBroken) as refused:
        undo_fact(use)

    assert (refused.value.code, Movement.objects.count()) == ("use_belongs_to_visit", 2)


def test_the_first_location_takes_over_the_one_shelf():
    item = ItemFactory()
    receipt(item, "10", "3")
    before = ledger_of(item)

    shop = add_location("Shop")
    add_location("Truck")

    assert [(kind, *rest) for kind, _, *rest in ledger_of(item)] == [
        (kind, *rest) for kind, _, *rest in before
    ]
    assert list(Balance.objects.values_list("location", "quantity")) == [(shop.pk, 10)]


def test_a_location_is_added_and_renamed_on_its_pages(browser):
    browser.post(reverse("stock:location-add"), {"name": "Shop"})
    shop = Location.objects.get()
    browser.post(reverse("stock:location-change", args=[shop.pk]), {"name": "The shop"})
    receipt(ItemFactory(), "3")
    add_facts([NewFact(ItemFactory(), DAY + timedelta(1), "waste", D(1))])

    answer = browser.get(reverse("stock:location-list"))

    [(_, [row])] = answer.context["table"].groups()
    assert (row.name, row.more, row.fact) == ("The shop", "1 item in stock", "1 item below zero")


def test_a_ledger_has_as_many_queries_with_one_row_as_with_three(browser):
    item, supplier = ItemFactory(), SupplierFactory()
    browser.get(reverse("stock:item-detail", args=[item.pk]))  # the first page notes that the login is in use
    counts = []
    for times in (1, 2):
        for _ in range(times):
            use = MaterialUseFactory(item=item)
            receive_item(item, D(2), D(3), on=DAY, supplier=supplier)
            complete_visit(use.visit)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            browser.get(reverse("stock:item-detail", args=[item.pk]))
        counts.append(len(queries))

    assert counts[0] == counts[1]
