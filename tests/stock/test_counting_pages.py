"""A shelf counted in a browser, from the list to the ledger, at phone and desk size; and without scripts."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from stock.models import Found, Shelf
from tests.conftest import PHONE
from tests.factories.practice import DAY, ProfileFactory
from tests.factories.stock import ItemFactory, LocationFactory, receipt

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def shelf(settings):
    """Three things on the truck."""
    settings.TODAY = DAY
    ProfileFactory()
    LocationFactory(name="Blue truck")
    items = [
        ItemFactory(name=f"Plain front, No {size}", pattern="plain", size=size) for size in ("2", "10", "0")
    ]
    for item in items:
        receipt(item, "20", "3", on=DAY - timedelta(30))
    return items


def fill(page, item, figure):
    """Type what was counted and leave the field; return when it is saved."""
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_label(f"{item}, counted").fill(figure)
        page.get_by_label(f"{item}, counted").blur()


def on_hand():
    return list(Shelf.objects.order_by("item").values_list("on_hand", flat=True))


def test_a_shelf_is_counted_in_any_order_and_over_two_evenings(shelf, own_page):
    page, (two, ten, zero) = own_page, shelf
    page.goto("/truck/")
    page.get_by_role("link", name="Count the stock").click()
    page.get_by_role("link", name=re.compile("Blue truck")).click()
    shown = page.locator(".count-lines b").all_inner_texts()
    fill(page, ten, "17")
    page.goto("/truck/")  # called away: nothing was pressed
    page.goto("/counts/")
    page.get_by_role("link", name=re.compile("In progress: 1 item counted")).click()
    fill(page, two, "20")

    page.get_by_role("button", name="Review the differences").click()
    page.wait_for_url("**/review/")

    assert shown == [str(item) for item in (zero, two, ten)]
    assert page.locator("h1").inner_text() == "1 of 2 items differs from the book."
    assert on_hand() == [20, 20, 20]
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    page.get_by_role("button", name="Save the count").click()
    page.wait_for_url("**/counts/")
    assert (on_hand(), Found.objects.count(), page.problems) == ([20, 17, 20], 0, [])


def test_a_shelf_is_counted_without_javascript(shelf, open_page, user):
    page = open_page(*PHONE, user=user, java_script_enabled=False)
    page.goto("/counts/")
    page.get_by_role("link", name=re.compile("Blue truck")).click()
    page.get_by_label(f"{shelf[0]}, counted").fill("19")
    page.get_by_label(f"{shelf[1]}, counted").fill("some")

    page.get_by_role("button", name="Review the differences").click()

    assert "Type a number such as 14." in page.locator(".errors").inner_text()
    assert list(Found.objects.values_list("item", "quantity")) == [(shelf[0].pk, Decimal(19))]
    page.get_by_label(f"{shelf[1]}, counted").fill("22")
    page.get_by_role("button", name="Review the differences").click()
    page.get_by_role("button", name="Save the count").click()
    assert (on_hand(), page.problems) == ([19, 22, 20], [])
