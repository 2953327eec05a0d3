"""Places, items, open invoices, and credit of a spreadsheet on their way into the book."""

from datetime import date
from decimal import Decimal

import pytest

from billing.models import Invoice, Payment
from practice.models import Place
from stock.models import Item
from tests.factories.practice import (
    ClientFactory,
)
from tests.project.bring_in.sheets_to_bring import (
    bring_in,
    checked,
    wrong,
)

pytestmark = pytest.mark.usefixtures("practice")
D = Decimal


def test_places_come_in_with_what_is_known_of_them(browser):
    rows = [
        ["Barn", "Street", "City", "Lat", "Lon", "Tax area"],
        ["Hill Barn", "1 Hill", "Ford", "41.25", "-93.4", "Tarn"],
    ]

    bring_in(browser, checked(browser, "places", rows))

    place = Place.objects.get()
    assert (place.name, place.address, place.area) == ("Hill Barn", "1 Hill\nFord", "Tarn")
    assert (place.latitude, place.longitude) == (D("41.25"), D("-93.4"))


def test_items_come_in_with_their_counts_and_costs_each_size_by_its_own_name(browser):
    rows = [
        ["Item", "Size", "Type", "Qty", "Cost each", "Per box", "Vendor"],
        ["Plain front", "1", "Keg shoes", "24", "$4.35", "2", "Ford Supply"],
        ["Plain front", "2", "shoe", "1,012", "4.4", "2", "ford supply"],
        ["Race nail 5", "5", "", "250", "0.16", "250", ""],
    ]

    bring_in(browser, checked(browser, "items", rows, day="2026-10-12"))

    found = {item.name: item for item in Item.objects.select_related("shelf")}
    assert {name: (item.kind, item.shelf.on_hand, item.shelf.value) for name, item in found.items()} == {
        "Plain front 1": ("shoe", D(24), D("104.40")),
        "Plain front 2": ("shoe", D(1012), D("4452.80")),
        "Race nail 5": ("nail", D(250), D(40)),
    }
    assert {item.movements.get().date for item in found.values()} == {date(2026, 10, 12)}
    assert found["Plain front 1"].supplier == found["Plain front 2"].supplier


def test_open_invoices_come_in_with_what_was_paid_of_them(browser):
    ClientFactory(name="Ann Lee", payment_terms_days=30)
    rows = [
        ["Invoice no.", "Customer", "Date", "Total", "Tax", "Balance due"],
        ["A-7", "ann lee", "10/1/2026", "180.00", "10.00", "80"],
        ["A-8", "Bob Ray", "10/2/2026", "$64.20", "", ""],
        ["A-9", "Bob Ray", "10/3/2026", "50", "", "60"],
        ["A-10", "Bob Ray", "10/3/2026", "-50", "", ""],
        ["A-11", "Bob Ray", "10/3/2026", "50", "60", ""],
        ["A-12", "Bob Ray", "", "", "", ""],
    ]
    address = checked(browser, "invoices", rows)

    marked = wrong(browser, address)
    browser.post(address, {"cell_3_5": "50", "leave_4": "on", "leave_5": "on", "leave_6": "on"})
    said = bring_in(browser, address)

    assert marked == {
        (4, "Balance due"): "What is still open is at least 0 and at most the total.",
        (5, "Total"): "This is below 0. What you owe a client is brought in as credit.",
        (6, "Tax"): "The tax is at least 0 and at most the total.",
        (7, "Date"): "This is blank. Type it, or leave this row out.",
        (7, "Total"): "This is blank. Type it, or leave this row out.",
    }
    assert said == "Brought in. 3 open invoices: $194.20. 2 clients: 1 new, 1 already in the book."
    invoices = {row.number: row for row in Invoice.objects.with_settled()}
    assert {number: (row.net, row.total - row.settled, row.due) for number, row in invoices.items()} == {
        "A-7": (D(170), D(80), date(2026, 10, 31)),
        "A-8": (D("64.20"), D("64.20"), date(2026, 10, 16)),
        "A-9": (D(50), D(50), date(2026, 10, 17)),
    }
    assert list(Payment.objects.values_list("date", "amount", "invoice__number")) == [
        (date(2026, 10, 1), D(100), "A-7")
    ]


def test_credit_comes_in_once_and_a_debt_is_told_to_be_an_invoice(browser):
    rows = [["Customer", "Balance"], ["Ann Lee", "120.00"], ["Bob Ray", "(5.00)"], ["Cy Poe", "0"]]
    address = checked(browser, "credit", rows, day="2026-10-02")

    marked = wrong(browser, address)
    browser.post(address, {"leave_2": "on"})
    bring_in(browser, address)
    bring_in(browser, checked(browser, "credit", rows[:2], day="2026-10-02"))

    assert marked == {
        (3, "Balance"): "This is below 0. What a client owes you is brought in as an open invoice."
    }
    assert list(Payment.objects.values_list("client__name", "date", "amount")) == [
        ("Ann Lee", date(2026, 10, 2), D(120))
    ]
