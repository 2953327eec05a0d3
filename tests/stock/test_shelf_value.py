"""The shelf on any day: by location, its parts adding up to the whole, and as CSV."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from stock.actions.movements import NewFact, add_facts, receive_item
from stock.reports.shelf_value import ItemAtLocation, ShelfOn, shelf_on, split_value
from tests.factories.practice import ProfileFactory
from tests.factories.stock import ItemFactory, LocationFactory, receipt

DAY = date(2026, 1, 20)
D = Decimal


@pytest.mark.django_db
def test_the_shelf_of_a_day_is_by_location_and_adds_up():
    shop, truck = LocationFactory(name="Shop"), LocationFactory(name="Truck")
    shoe, nail = ItemFactory(ref="shoe"), ItemFactory(kind="nail")
    receive_item(shoe, D(3), D("3.3333"), on=DAY, location=shop)
    add_facts([NewFact(shoe, DAY, "transfer", D(2), to_location=truck)])
    receipt(nail, "10", "1", on=DAY + timedelta(1))

    assert shelf_on(DAY) == ShelfOn(
        DAY,
        [ItemAtLocation(shoe, shop, D(1), D("3.3333")), ItemAtLocation(shoe, truck, D(2), D("6.6666"))],
        [(shop, D("3.3333")), (truck, D("6.6666"))],
        D("9.9999"),
    )
    assert shelf_on(DAY - timedelta(1)).rows == []
    assert shelf_on(DAY + timedelta(1)).total == D("19.9999")


@pytest.mark.django_db
def test_without_locations_there_is_one_shelf():
    shoe = ItemFactory()
    receipt(shoe, "2", "3", on=DAY)

    assert shelf_on(DAY) == ShelfOn(DAY, [ItemAtLocation(shoe, None, D(2), D(6))], [(None, D(6))], D(6))


@given(st.integers(-9999, 99999), st.lists(st.integers(-20, 20), min_size=1, max_size=4))
def test_the_parts_of_a_value_add_up_to_it(value, quantities):
    value = D(value) / 10000

    parts = split_value(value, [D(quantity) for quantity in quantities])

    assert sum(parts, D(0)) == value


@pytest.mark.django_db
def test_the_page_of_a_day_is_downloaded_as_csv(browser):
    ProfileFactory()
    item = ItemFactory(ref="shoe", name="Plain, front", pattern="plain", size="2")
    receipt(item, "2", "3.5", on=DAY)
    address = reverse("stock:shelf-value-csv")

    page = browser.get(reverse("stock:shelf-value"), {"on": DAY.isoformat()})
    answer = browser.get(address, {"on": DAY.isoformat()})

    assert page.context["shelf"].total == 7
    assert f"{address}?on=2026-01-20" in page.content.decode()
    assert answer.content.decode() == (
        "date,item,name,kind,pattern,size,location,quantity,unit,value\r\n"
        '2026-01-20,shoe,"Plain, front",shoe,plain,2,,2,each,7.0000\r\n'
    )
    assert browser.get(address, {"on": "some day"}).status_code == 400


@pytest.mark.django_db
def test_what_is_not_a_day_is_refused(browser):
    answer = browser.get(reverse("stock:shelf-value"), {"on": "2026-02-30"})

    assert answer.context["form"].errors == {"on": ["Type a date such as 2026-10-14."]}
