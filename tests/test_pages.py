"""Every page: private, of a fixed number of queries, without a word of complaint in the console."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.factories.practice import (
    DAY,
    ClientFactory,
    ProfileFactory,
    VehicleFactory,
)
from tests.walk import one_of_each

D = Decimal
LISTS = [
    "practice:client-list",
    "practice:place-list",
    "practice:horse-list",
    "practice:horse-all",
    "practice:service-list",
    "practice:vehicle-list",
    "practice:road",
    "practice:road-log",
    "stock:truck",
    "stock:usage",
    "stock:supplier-list",
    "stock:order-list",
    "stock:order-add",
    "stock:count-list",
    "stock:location-list",
    "stock:shelf-value",
    "stock:valuation-list",
    "billing:owed",
    "billing:invoice-list",
    "billing:payment-list",
    "billing:tax-rate-list",
    "billing:what-pays-now",
    "billing:mileage-rate-list",
    "billing:expense-list",
    "billing:repeating-list",
    "billing:equipment-list",
    "billing:sales-tax",
]


@pytest.mark.django_db
@pytest.mark.parametrize("name", [*LISTS, "round", "home", "close"])
def test_a_list_has_as_many_queries_with_one_row_as_with_three(browser, settings, name):
    settings.TODAY = DAY
    ProfileFactory()
    truck = VehicleFactory()
    day = {"round": "practice:round", "close": "billing:close-day"}
    address = reverse(day[name], args=[DAY.isoformat()]) if name in day else reverse(name)

    counts = []
    for times in (1, 2):
        for _ in range(times):
            one_of_each(truck)
        browser.get(address)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert browser.get(address).status_code == 200
        counts.append(len(queries))

    assert counts[0] == counts[1]


@pytest.mark.django_db
@pytest.mark.parametrize("name", [*LISTS, "home", "practice:settings", "find"])
def test_a_page_is_private(client, name):
    address = reverse(name)

    assert client.get(address).headers["Location"] == f"/login/?next={address}"


@pytest.mark.django_db
@pytest.mark.parametrize("name", [*LISTS, "home", "practice:round-today"])
def test_a_page_of_an_empty_book_says_what_to_do_next(browser, name):
    answer = browser.get(reverse(name), follow=True)

    assert answer.status_code == 200


@pytest.mark.django_db
def test_a_client_without_invoices_owes_nothing(browser):
    address = reverse("billing:client-account", args=[ClientFactory().pk])

    account = browser.get(address).context["account"]

    assert (account.open, account.credit) == (0, 0)


@pytest.mark.django_db
def test_an_error_stands_beside_its_field_and_keeps_what_was_typed(browser):
    ProfileFactory()
    address = reverse("practice:settings-billing")

    answer = browser.post(
        address, {"invoice_prefix": "Garrow", "travel_rule": "per_visit", "travel_rate": "abc"}
    )

    page = answer.content.decode()
    assert answer.context["form"].errors["travel_rate"] == ["Type a number such as 0.85."]
    assert 'value="abc"' in page and 'value="Garrow"' in page and 'id="id_travel_rate_error"' in page
