"""Every page: private, of a fixed number of queries, without a word of complaint in the console."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import (
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    MileageRate,
    Payment,
    Price,
    RepeatingExpense,
    TaxRate,
)
from practice.models import Horse, Leg, Visit
from stock.models import Item, OrderLine
from tests.conftest import DESK, PHONE
from tests.factories.billing import (
    EquipmentFactory,
    EstimatedPaymentFactory,
    ExpenseFactory,
    MileageRateFactory,
    RepeatingExpenseFactory,
)
from tests.factories.practice import (
    DAY,
    ClientFactory,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    trim,
)
from tests.factories.stock import ItemFactory, OrderLineFactory, SupplierFactory, receipt

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


def one_of_each(truck):
    """Add one of each thing that a list shows: horse, owner, place, service, item, invoice, payment …"""
    client = ClientFactory()
    work = trim(client, on=DAY - timedelta(weeks=7), vehicle=truck)
    work.service.resets_cycle = True
    shoe = ItemFactory(pattern="plain", size="2")
    receipt(shoe, "5", on=DAY - timedelta(weeks=8))
    MaterialUseFactory(visit=work.visit, horse=work.horse, item=shoe)
    Price.objects.create(service=work.service, valid_from=DAY, price=50)
    Leg.objects.create(
        date=DAY, vehicle=truck, distance=D(5), purpose="business", visit=VisitFactory(vehicle=truck)
    )
    close_days(work.visit.date, work.visit.date, DAY)
    record_payment(client, DAY, D(20), "cash")
    TaxRate.objects.create(name="State", valid_from=DAY - timedelta(Invoice.objects.count()), rate=5)
    OrderLineFactory(item=shoe, order__supplier=SupplierFactory())
    ExpenseFactory(vehicle=truck, receipt="0" * 32 + ".jpg")
    RepeatingExpenseFactory(vehicle=truck)
    EquipmentFactory()
    EstimatedPaymentFactory()
    MileageRateFactory(scheme="us_standard", tier_from=MileageRate.objects.count())


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
@pytest.mark.parametrize("name", [*LISTS, "home", "practice:settings", "practice:find"])
def test_a_page_is_private(client, name):
    address = reverse(name)

    assert client.get(address).headers["Location"] == f"/login/?next={address}"


@pytest.mark.django_db
@pytest.mark.parametrize("name", [*LISTS, "home", "practice:round-today"])
def test_a_page_of_an_empty_book_says_what_to_do_next(browser, name):
    answer = browser.get(reverse(name), follow=True)

    assert answer.status_code == 200


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_console_is_empty_and_nothing_is_wider_than_the_screen(open_page, user, settings, size):
    settings.TODAY = DAY
    practice = ProfileFactory()
    truck = VehicleFactory()
    one_of_each(truck)
    practice.travel_rule, practice.travel_rate = "per_distance", D("0.85")
    practice.save()
    visit = trim(
        on=DAY, vehicle=truck, place=PlaceFactory(name="A barn with a name as long as its lane")
    ).visit
    line = OrderLine.objects.first()
    horse, item, invoice = Horse.objects.first(), Item.objects.first(), Invoice.objects.first()
    payment = Payment.objects.first()
    day = DAY.isoformat()
    addresses = [reverse(name) for name in [*LISTS, "home", "practice:settings", "practice:find"]]
    addresses += [
        reverse(name, args=[key])
        for name, key in [
            ("practice:client-detail", invoice.client.pk),
            ("practice:client-change", invoice.client.pk),
            ("practice:place-detail", visit.place.pk),
            ("practice:horse-detail", horse.pk),
            ("practice:horse-owners", horse.pk),
            ("practice:visit-detail", visit.pk),
            ("practice:visit-move", visit.pk),
            ("practice:round", day),
            ("practice:visit-plan", day),
            ("practice:item-why", item.pk),
            ("practice:load-list", day),
            ("billing:close-day", day),
            ("billing:year", DAY.year),
            ("billing:estimated-change", EstimatedPayment.objects.first().pk),
            ("billing:invoice-detail", invoice.pk),
            ("billing:payment-add", invoice.client.pk),
            *[(f"billing:payment-{page}", payment.pk) for page in ("detail", "change", "remove")],
            ("billing:expense-change", Expense.objects.first().pk),
            ("billing:repeating-change", RepeatingExpense.objects.first().pk),
            ("billing:equipment-change", Equipment.objects.first().pk),
            ("billing:mileage-rate-change", MileageRate.objects.last().pk),
            ("billing:service-prices", ServiceFactory().pk),
            ("stock:item-detail", item.pk),
            ("stock:item-change", item.pk),
            ("stock:item-receive", item.pk),
            ("stock:item-count", item.pk),
            ("stock:order-detail", line.order.pk),
            ("stock:order-change", line.order.pk),
            ("stock:order-receive", line.order.pk),
            ("stock:line-cancel", line.pk),
            *[(f"stock:item-{page}", item.pk) for page in ("waste", "withdraw", "return", "transfer")],
            ("stock:fact-reverse", item.movements.first().pk),
            ("stock:count-sheet", 0),
            ("stock:count-review", 0),
            ("practice:visit-return", visit.pk),
            ("practice:vehicle-change", truck.pk),
        ]
    ]
    addresses += [
        reverse(f"billing:{name}-add") for name in ("expense", "repeating", "equipment", "estimated")
    ]
    addresses += [
        reverse("stock:order-add") + "?supplier=",
        reverse("practice:visit-horse", args=[visit.pk, horse.pk]),
        reverse("practice:finding-add", args=[visit.pk, horse.pk]),
        reverse("practice:leg-add", args=[day, truck.pk]),
        reverse("practice:leg-change", args=[Leg.objects.first().pk]),
        reverse("practice:road-month", args=["2026-08"]),
        reverse("practice:vehicle-replace", args=[truck.pk]),
        reverse("practice:odometer-change", args=[truck.pk]),
    ]
    page = open_page(*size, user=user)

    wide = []
    for address in addresses:
        assert page.goto(address).status == 200, address
        page.wait_for_selector(".htmx-request", state="detached")
        if page.evaluate("document.documentElement.scrollWidth") > size[0]:
            wide.append(address)

    assert (wide, page.problems) == ([], [])
    assert Visit.objects.filter(pk=visit.pk, locked=False).exists()


@pytest.mark.django_db
def test_a_client_without_invoices_owes_nothing(browser):
    address = reverse("billing:client-account", args=[ClientFactory().pk])

    account = browser.get(address).context["account"]

    assert (account.open, account.credit) == (0, 0)


@pytest.mark.django_db
def test_an_error_stands_beside_its_field_and_keeps_what_was_typed(browser):
    address = reverse("practice:settings")

    answer = browser.post(address, {"name": "Garrow", "travel_rule": "per_visit", "travel_rate": "abc"})

    page = answer.content.decode()
    assert answer.context["form"].errors["travel_rate"] == ["Type a number such as 12.5."]
    assert 'value="abc"' in page and 'value="Garrow"' in page and 'id="id_travel_rate_error"' in page
