"""The pages of orders."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from stock.actions.purchasing import ReceivedLine, cancel_order_line, receive_order
from stock.models import Order, OrderLine, Purchase, Shelf
from stock.reports.orders import order_sheet
from tests.conftest import DESK, PHONE
from tests.factories.practice import DAY, ProfileFactory
from tests.factories.stock import (
    ItemFactory,
    LocationFactory,
    OrderFactory,
    OrderLineFactory,
    SupplierFactory,
)

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def fixed_day(settings):
    settings.TODAY = DAY


def ordered():
    return list(
        OrderLine.objects.order_by("pk").values_list("order__supplier", "item", "quantity", "unit_price")
    )


def messages_of(answer):
    return [str(message) for message in answer.context["messages"]]


# A new order


def test_a_new_order_asks_first_for_the_supplier(browser):
    tarn, old = SupplierFactory(name="Tarn Iron"), SupplierFactory(archived=True)

    answer = browser.get(reverse("stock:order-add"), {"item": "7"})

    assert list(answer.context["suppliers"]) == [tarn]
    assert f'href="?item=7&amp;supplier={tarn.pk}"' in answer.content.decode()
    assert f"supplier={old.pk}" not in answer.content.decode()


def test_the_form_shows_the_suppliers_own_items_first_with_what_is_there_and_on_order(browser):
    tarn = SupplierFactory()
    other, shoe = ItemFactory(), ItemFactory(supplier=tarn, pack_size=D(10))
    OrderLineFactory(item=shoe, unit_price=D("3.40"))

    form = browser.get(reverse("stock:order-add"), {"supplier": tarn.pk, "item": shoe.pk}).context["form"]

    groups = [
        (heading, is_open, [(row.item, row.pack_size, row.on_order, row.packs.value()) for row in rows])
        for heading, is_open, rows in form.groups()
    ]
    assert groups == [
        ("From this supplier", True, [(shoe, 10, 20, 1)]),
        ("Other items", False, [(other, 1, 0, None)]),
    ]
    assert form[f"price_{shoe.pk}"].value() == "3.40"


def test_a_new_order_is_saved_once_however_often_it_is_sent(browser):
    tarn, shoe, nail = SupplierFactory(), ItemFactory(pack_size=D(10)), ItemFactory(pack_size=D(250))
    typed = {
        "supplier": tarn.pk,
        "date": DAY.isoformat(),
        "note": "ring first",
        "uuid": "8d6f2b1e-52cf-4a37-9b34-0a6b5f7d1c22",
        f"packs_{shoe.pk}": "2",
        f"price_{shoe.pk}": "3.40",
        f"packs_{nail.pk}": "",
    }

    answers = [browser.post(reverse("stock:order-add"), typed) for _ in range(2)]

    order = Order.objects.get()
    assert [answer.headers["Location"] for answer in answers] == [order.get_absolute_url()] * 2
    assert (order.ref, order.ordered_on, order.note) == ("O-2026-0001", DAY, "ring first")
    assert ordered() == [(tarn.pk, shoe.pk, 20, D("3.40"))]


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({}, {"__all__": ["Type how many packs you want of at least one item."]}),
        ({"packs_{}": "1.5"}, {"packs_{}": ["Type a whole number of packs, such as 2."]}),
        ({"packs_{}": "-1"}, {"packs_{}": ["Type a whole number of packs, such as 2."]}),
        ({"packs_{}": "2", "price_{}": "abc"}, {"price_{}": ["Type a number such as 3.40."]}),
    ],
)
def test_an_order_that_cannot_be_read_stays_as_it_was_typed(browser, typed, errors):
    shoe = ItemFactory()
    typed = {name.format(shoe.pk): value for name, value in typed.items()}

    answer = browser.post(reverse("stock:order-add"), {"date": DAY.isoformat()} | typed)

    assert answer.context["form"].errors == {name.format(shoe.pk): words for name, words in errors.items()}
    assert {name: answer.context["form"][name].value() for name in typed} == typed
    assert Order.objects.count() == 0


def test_an_order_is_changed_on_its_page_and_keeps_its_pack_size(browser):
    line = OrderLineFactory(item__pack_size=D(12), unit_price=D(3))
    nail = ItemFactory()
    address = reverse("stock:order-change", args=[line.order.pk])
    form = browser.get(address).context["form"]
    filled = {name: form[name].value() or "" for name in form.fields}

    browser.post(
        address, filled | {"date": DAY.isoformat(), f"packs_{line.item.pk}": "3", f"packs_{nail.pk}": "1"}
    )

    assert filled[f"packs_{line.item.pk}"] == 2
    assert ordered() == [(None, line.item.pk, 30, 3), (None, nail.pk, 1, None)]


def test_an_order_that_came_in_part_is_not_changed_on_its_page(browser):
    line = OrderLineFactory()
    receive_order(line.order, [ReceivedLine(line, D(10), D(1))], on=DAY)
    address = reverse("stock:order-change", args=[line.order.pk])

    answer = browser.post(address, {"date": DAY.isoformat(), f"packs_{line.item.pk}": "2"})

    assert answer.context["form"].non_field_errors() == [
        "Part of this order has come. Cancel what you no longer want, and place a new order."
    ]
    assert ordered() == [(None, line.item.pk, 20, None)]


# Deliveries


def delivery(line, **more):
    typed = {
        "date": DAY.isoformat(),
        "seen": "0",
        f"quantity_{line.pk}": "5",
        f"price_{line.pk}": "3.60",
    }
    return typed | more


def test_a_delivery_says_what_it_came_to_and_how_far_that_is_from_what_was_expected(browser):
    line = OrderLineFactory(unit_price=D("3.40"))
    truck = LocationFactory()

    answer = browser.post(
        reverse("stock:order-receive", args=[line.order.pk]),
        delivery(line, freight="2.50", tax="1", reference="slip 7", location=truck.pk),
        follow=True,
    )

    assert messages_of(answer) == ["Received: $18.00 before freight and tax, $1.00 more than expected."]
    purchase = Purchase.objects.get()
    assert (purchase.reference, purchase.movement.unit_cost, purchase.movement.location) == (
        "slip 7",
        D("4.3"),
        truck,
    )
    [shown] = answer.context["sheet"].lines
    assert (shown.received, shown.to_come) == (5, 15)


def test_the_receiving_page_is_filled_in_with_what_is_to_come(browser):
    line = OrderLineFactory(unit_price=D("3.40"))
    whole = OrderLineFactory(order=line.order)
    receive_order(line.order, [ReceivedLine(line, D(5), D(3)), ReceivedLine(whole, D(20), D(3))], on=DAY)

    form = browser.get(reverse("stock:order-receive", args=[line.order.pk])).context["form"]

    assert [(row.line, row.quantity.value(), row.price.value()) for row in form.rows()] == [
        (line, "15", "3.40")
    ]
    assert (form["date"].value(), form["seen"].value()) == (DAY, 2)


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"quantity_{}": "0"}, {"__all__": ["Type how many came of at least one item."]}),
        ({"price_{}": ""}, {"price_{}": ["Type the price of one, such as 3.40; 0 if it was free."]}),
        ({"freight": "0.005"}, {"freight": ["Type a number with at most 2 decimals, such as 12.50."]}),
        (
            {"seen": "1"},
            {
                "__all__": [
                    "Part of this order came in the meantime. Check what is still to come, then try again."
                ]
            },
        ),
        (
            {"date": "2026-09-30"},
            {"__all__": ["2026-09-30 is before the order was placed, on 2026-10-01. Check the date."]},
        ),
    ],
)
def test_a_delivery_that_cannot_be_is_told_on_its_page(browser, typed, errors):
    line = OrderLineFactory()
    typed = {name.format(line.pk): value for name, value in typed.items()}

    answer = browser.post(reverse("stock:order-receive", args=[line.order.pk]), delivery(line, **typed))

    assert answer.context["form"].errors == {name.format(line.pk): words for name, words in errors.items()}
    assert Purchase.objects.count() == 0


def test_a_receipt_is_undone_on_the_orders_page(browser):
    line = OrderLineFactory()
    receive_order(line.order, [ReceivedLine(line, D(5), D(3))], on=DAY)

    answer = browser.post(reverse("stock:receipt-take-back", args=[Purchase.objects.get().pk]), follow=True)

    assert (messages_of(answer), answer.context["sheet"].receipts) == (["Undone."], [])
    assert Shelf.objects.get().on_hand == 0


# Canceling


def test_the_expected_day_is_changed_on_the_orders_page(browser):
    ProfileFactory()
    line = OrderLineFactory()  # placed on October 1, seven days are the practice's lead time
    page = browser.get(line.order.get_absolute_url())
    form = browser.get(reverse("stock:order-expected", args=[line.order.pk])).context["form"]
    typed = {"expected": "2026-10-20"}

    answer = browser.post(reverse("stock:order-expected", args=[line.order.pk]), typed, follow=True)

    assert page.context["expected"] == "Was expected Thu, Oct 8."
    assert form["expected"].value() == date(2026, 10, 8)
    assert answer.context["expected"] == "Expected Tue, Oct 20."


def test_an_expected_day_before_the_order_is_told_on_its_page(browser):
    line = OrderLineFactory()

    answer = browser.post(reverse("stock:order-expected", args=[line.order.pk]), {"expected": "2026-09-30"})

    assert answer.context["form"].errors == {
        "__all__": [
            "The order is expected on 2026-09-30, before it was placed, on 2026-10-01. Check both dates."
        ]
    }


def test_lines_expected_on_several_days_are_told_from_the_first_to_the_last():
    first = OrderLineFactory(item=ItemFactory(lead_time_days=20))
    OrderLineFactory(order=first.order, item=ItemFactory(lead_time_days=30))

    words = order_sheet(first.order).expected_in_words(DAY, "en-US")

    assert words == "Expected between Wed, Oct 21 and Sat, Oct 31."


def test_a_line_is_canceled_in_part_on_its_page(browser):
    line = OrderLineFactory()
    address = reverse("stock:line-cancel", args=[line.pk])

    assert browser.get(address).context["form"]["quantity"].value() == "20"
    browser.post(address, {"quantity": "8"})
    answer = browser.post(address, {"quantity": "13"})

    assert answer.context["form"].non_field_errors() == [
        f"{line.item}: only 12 still to come. Cancel that many or fewer."
    ]
    assert OrderLine.objects.get().cancelled == 8


def test_all_that_is_to_come_is_canceled_with_one_button(browser):
    line = OrderLineFactory()

    answer = browser.post(reverse("stock:order-cancel", args=[line.order.pk]), follow=True)

    assert messages_of(answer) == ["Canceled. Let the supplier know."]
    assert answer.context["sheet"].open_lines == []


@pytest.mark.parametrize("name", ["stock:order-receive", "stock:line-cancel"])
def test_nothing_is_received_or_canceled_of_what_came_whole(browser, name):
    line = OrderLineFactory()
    receive_order(line.order, [ReceivedLine(line, D(20), D(3))], on=DAY)
    key = line.pk if name == "stock:line-cancel" else line.order.pk

    answer = browser.get(reverse(name, args=[key]))

    assert answer.headers["Location"] == line.order.get_absolute_url()


@pytest.mark.parametrize(
    "address", ["/orders/{}/", "/orders/{}/receive/", "/orders/{}/pdf/", "/orders/add/?supplier="]
)
def test_an_order_of_three_lines_takes_as_many_queries_as_one_of_one(browser, address):
    counts = []
    for size in (1, 3):
        order = OrderFactory()
        for line in OrderLineFactory.create_batch(size, order=order):
            receive_order(order, [ReceivedLine(line, D(5), D(3))], on=DAY)
        browser.get(address.format(order.pk))
        with CaptureQueriesContext(connection) as queries:
            assert browser.get(address.format(order.pk)).status_code == 200
        counts.append(len(queries))

    assert counts[0] == counts[1]


def test_a_closed_order_stands_below_an_open_one_in_the_list(browser):
    closed, opened = OrderLineFactory(order__ordered_on=date(2026, 10, 9)), OrderLineFactory()
    cancel_order_line(closed, D(20))

    answer = browser.get(reverse("stock:order-list"))

    assert [row.record for row in answer.context["table"].rows] == [opened.order, closed.order]
    assert answer.context["heading"] == "1 order still to come."


@pytest.mark.parametrize(
    ("expected", "said"),
    [
        (None, ("Fri, Jan 2", False, "ordered")),
        (date(2026, 1, 4), ("Sun, Jan 4", True, "expected")),
        (date(2026, 1, 9), ("Fri, Jan 9", False, "expected")),
    ],
)
def test_an_open_order_says_when_it_is_expected(browser, settings, expected, said):
    settings.TODAY = date(2026, 1, 5)
    OrderLineFactory(order__ordered_on=date(2026, 1, 2), order__expected_on=expected)

    [(_, [row])] = browser.get(reverse("stock:order-list")).context["table"].groups()

    assert (row.fact, row.late, row.note) == said


# In a browser


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("size", "script"),
    [(PHONE, True), (DESK, True), (PHONE, False)],
    ids=["phone", "desk", "phone without JavaScript"],
)
def test_a_farrier_orders_shoes_and_receives_part_of_them(open_page, user, size, script):
    ProfileFactory()
    tarn = SupplierFactory(name="Tarn Iron")
    shoe = ItemFactory(name="Plain front, No 2", pack_size=D(10), supplier=tarn)
    ItemFactory(name="Nails, slim No 5", kind="nail", pack_size=D(250), supplier=tarn)
    page = open_page(*size, user=user, java_script_enabled=script)

    page.goto("/truck/")
    page.get_by_role("link", name="Orders", exact=True).click()
    page.get_by_role("link", name="New order").click()
    page.get_by_role("link", name=re.compile("Tarn Iron")).click()
    page.get_by_label("Plain front, No 2: Packs").fill("2")
    page.get_by_label("Plain front, No 2: Unit price").fill("3.40")
    page.get_by_role("button", name="Save the order").click()
    page.get_by_role("link", name="Receive a delivery").click()
    page.get_by_label("Plain front, No 2: Received").fill("12")
    page.get_by_label("Freight").fill("3")
    page.get_by_role("button", name="Receive", exact=True).click()

    page.get_by_text("Received: $40.80 before freight and tax.").wait_for()
    page.get_by_role("link", name="Cancel Plain front, No 2").click()
    page.get_by_role("button", name="Cancel these units").click()
    page.get_by_role("heading", name="Nothing more is to come.").wait_for()

    assert page.problems == []
    line = OrderLine.objects.with_received().get()
    assert (line.quantity, line.received, line.cancelled) == (20, 12, 8)
    assert Shelf.objects.get(item=shoe).value == D("43.8")
