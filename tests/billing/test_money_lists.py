"""What the lists of money say: their rows, what these are grouped by, and the answer above them."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.actions.payments import record_payment
from billing.models import MileageRate, Price, TaxRate
from practice.lib.things import PER_PAGE
from tests.conftest import DESK, PHONE
from tests.factories.billing import (
    EquipmentFactory,
    ExpenseFactory,
    InvoiceFactory,
    RepeatingExpenseFactory,
)
from tests.factories.practice import ClientFactory, ProfileFactory, ServiceFactory, VehicleFactory

D = Decimal
TODAY = date(2026, 11, 26)
SMALL_PHONE = (360, 740)


@pytest.fixture(autouse=True)
def practice(settings, db):
    settings.TODAY = TODAY
    return ProfileFactory()


def listed(browser, name: str, **asked) -> list[tuple]:
    """Return each heading of a list with its rows: name, second line, fact, late, note."""
    table = browser.get(reverse(name), asked).context["table"]
    return [
        (heading, [(row.name, row.more, row.fact, row.late, row.note) for row in rows])
        for heading, rows in table.groups()
    ]


def heading_of(browser, name: str) -> str:
    page = browser.get(reverse(name)).content.decode()
    return " ".join(page.split("<h1>")[1].split("</h1>")[0].split())


def invoice(client, number: str, issued: date, total: str, paid: str = "0"):
    made = InvoiceFactory(
        client=client, number=number, issued=issued, due=issued + timedelta(14), net=D(total)
    )
    if D(paid):
        record_payment(client, TODAY, D(paid), "cash", invoice=made)


def test_open_invoices_come_first_by_due_date_and_the_rest_by_month(browser):
    ann, bo = ClientFactory(name="Ann Marsh"), ClientFactory(name="Bo Harper")
    invoice(ann, "N-1", date(2026, 9, 30), "80", paid="80")
    invoice(bo, "N-2", date(2026, 11, 20), "60")
    invoice(ann, "N-3", date(2026, 11, 2), "100", paid="25")
    invoice(ann, "N-4", date(2025, 10, 5), "40", paid="40")

    assert listed(browser, "billing:invoice-list") == [
        (
            "Open",
            [
                ("Ann Marsh", "N-3, of $100.00", "$75.00", True, "10 days overdue"),
                ("Bo Harper", "N-2", "$60.00", False, "due Fri, Dec 4"),
            ],
        ),
        ("Paid, from September 2026", [("Ann Marsh", "N-1, Wed, Sep 30", "$80.00", False, "paid")]),
        ("Paid, from October 2025", [("Ann Marsh", "N-4, Sun, Oct 5", "$40.00", False, "paid")]),
    ]
    assert heading_of(browser, "billing:invoice-list") == "2 invoices open, $135.00."


def test_invoices_by_date_stand_under_what_each_month_billed(browser):
    client = ClientFactory(name="Ann Marsh")
    for number, (day, total) in enumerate([(3, "40.50"), (28, "60")]):
        invoice(client, f"N-{number}", date(2026, 10, day), total)

    [(heading, rows)] = listed(browser, "billing:invoice-list", sort="-issued")

    assert heading == "October 2026, $100.50"
    assert [row[1] for row in rows] == ["N-1, Wed, Oct 28", "N-0, Sat, Oct 3"]


def test_without_an_open_invoice_the_heading_says_so(browser):
    assert heading_of(browser, "billing:invoice-list") == "No invoice is open."


def test_a_month_is_added_up_beyond_the_page(browser):
    client = ClientFactory(name="Ann Marsh")
    for number in range(PER_PAGE + 1):
        record_payment(client, date(2026, 10, 1 + number % 28), D("2.50"), "check")
    record_payment(client, date(2026, 11, 3), D("12"), "card", tip=D(2))
    record_payment(client, date(2026, 11, 4), D("-2.50"), "check")

    first, second = listed(browser, "billing:payment-list"), listed(browser, "billing:payment-list", page=2)

    assert first[0] == (
        "November 2026, $9.50",
        [
            ("Ann Marsh", "Wed, Nov 4, check", "−$2.50", False, "refund"),
            ("Ann Marsh", "Tue, Nov 3, card", "$12.00", False, "tip $2.00"),
        ],
    )
    assert [first[1][0], second[0][0]] == ["October 2026, $127.50"] * 2
    assert heading_of(browser, "billing:payment-list") == "53 payments this tax year, $137.00."


def test_a_search_adds_up_what_it_found(browser):
    for name, amount in (("Ann Marsh", "10"), ("Bo Harper", "7")):
        record_payment(ClientFactory(name=name), date(2026, 10, 1), D(amount), "cash")

    assert [heading for heading, _ in listed(browser, "billing:payment-list", q="harper")] == [
        "October 2026, $7.00"
    ]


def test_expenses_say_who_was_paid_and_for_which_vehicle(browser):
    truck = VehicleFactory(name="Blue truck")
    ExpenseFactory(date=date(2026, 10, 5), vendor="Crossroads Fuel", vehicle=truck, receipt="0" * 32 + ".jpg")
    ExpenseFactory(date=date(2026, 10, 6), category="office", amount=D("12"))

    assert listed(browser, "billing:expense-list") == [
        (
            "October 2026, $60.20",
            [
                ("Office", "Tue, Oct 6", "$12.00", False, ""),
                ("Vehicle fuel", "Mon, Oct 5, Crossroads Fuel, Blue truck, receipt", "$48.20", False, ""),
            ],
        )
    ]
    assert [
        (heading, rows[0][:2]) for heading, rows in listed(browser, "billing:expense-list", sort="category")
    ] == [
        ("Office (Schedule C: 18)", ("Office", "Tue, Oct 6")),
        (
            "Vehicle fuel (Schedule C: 9 actual method only)",
            ("Crossroads Fuel", "Mon, Oct 5, Blue truck, receipt"),
        ),
    ]
    assert heading_of(browser, "billing:expense-list") == "2 expenses this tax year, $60.20."


def test_repeating_expenses_say_when_they_are_due_and_what_a_year_costs(browser):
    RepeatingExpenseFactory(vendor="Ember Telephone", answered_through=date(2026, 10, 31))
    RepeatingExpenseFactory(category="insurance", amount=D(90), every="quarter", valid_from=date(2027, 1, 5))
    RepeatingExpenseFactory(
        vendor="Tarn Rent", valid_to=date(2026, 3, 31), answered_through=date(2026, 3, 31)
    )

    assert listed(browser, "billing:repeating-list") == [
        (
            "",
            [
                ("Ember Telephone", "Utilities, every month", "$46.50", False, "due Mon, Nov 30"),
                ("Insurance", "Every three months", "$90.00", False, "due Jan 5, 2027"),
                ("Tarn Rent", "Utilities, every month, until Mar 31, 2026", "$46.50", False, "ended"),
            ],
        )
    ]
    assert heading_of(browser, "billing:repeating-list") == "2 repeating expenses, $918.00 a year."


def test_tools_in_use_come_first(browser):
    EquipmentFactory(name="Anvil")
    EquipmentFactory(name="Forge", cost=D(300), disposed_on=date(2026, 6, 1), disposed_for=D(0))
    EquipmentFactory(name="Grinder", cost=D(290), disposed_on=date(2026, 6, 2), disposed_for=D("120"))

    assert listed(browser, "billing:equipment-list") == [
        ("In use", [("Anvil", "Since Mar 1, 2024", "$640.00", False, "")]),
        (
            "Sold or scrapped",
            [
                ("Grinder", "Mar 1, 2024 to Jun 2, 2026", "$290.00", False, "sold for $120.00"),
                ("Forge", "Mar 1, 2024 to Jun 1, 2026", "$300.00", False, "scrapped"),
            ],
        ),
    ]
    assert heading_of(browser, "billing:equipment-list") == "1 tool in use, $640.00."


def test_tax_rates_in_force_today_come_first(browser):
    for name, begin, end, area, rate in (
        ("State", date(2020, 1, 1), None, "", "5"),
        ("State", date(2026, 11, 26), None, "", "5.25"),
        ("State", date(2027, 1, 1), None, "", "5.5"),
        ("County", date(2020, 1, 1), None, "Tarn", "1.5"),
        ("Levy", date(2025, 1, 1), date(2026, 11, 25), "Tarn", "2"),
    ):
        TaxRate.objects.create(name=name, valid_from=begin, valid_to=end, area=area, rate=D(rate))

    assert [
        (heading, [row[:3] for row in rows]) for heading, rows in listed(browser, "billing:tax-rate-list")
    ] == [
        (
            "In force today",
            [
                ("County", "Tarn, from Jan 1, 2020", "1.5%"),
                ("State", "Everywhere, from Nov 26, 2026", "5.25%"),
            ],
        ),
        ("From a later day", [("State", "Everywhere, from Jan 1, 2027", "5.5%")]),
        (
            "No longer in force",
            [
                ("Levy", "Tarn, Jan 1, 2025 to Nov 25, 2026", "2%"),
                ("State", "Everywhere, from Jan 1, 2020", "5%"),
            ],
        ),
    ]
    assert heading_of(browser, "billing:tax-rate-list") == "2 tax rates in force today."


def test_a_mileage_rate_stays_in_force_until_the_next_of_its_tier(browser, practice):
    practice.mileage_scheme = "uk_simplified"
    practice.save()
    MileageRate.objects.filter(scheme="uk_simplified").delete()
    for begin, end, tier, rate in (
        (date(2020, 4, 6), None, "0", "0.44"),
        (date(2024, 4, 6), date(2025, 4, 5), "0", "0.45"),
        (date(2024, 4, 6), None, "10000", "0.25"),
        (date(2027, 4, 6), None, "0", "0.46"),
    ):
        MileageRate.objects.create(
            scheme="uk_simplified", valid_from=begin, valid_to=end, tier_from=D(tier), rate=D(rate)
        )

    assert [
        (heading, [(row[0], row[2], row[4]) for row in rows])
        for heading, rows in listed(browser, "billing:mileage-rate-list")
    ] == [
        (
            "In force today",
            [
                ("Apr 6, 2024 to Apr 5, 2025", "0.45", ""),
                ("From Apr 6, 2024", "0.25", "above 10,000 in the year"),
            ],
        ),
        ("From a later day", [("From Apr 6, 2027", "0.46", "")]),
        ("No longer in force", [("From Apr 6, 2020", "0.44", "")]),
    ]


def test_the_price_list_shows_todays_price_of_each_service(browser):
    trim, reset = ServiceFactory(name="Trim", minutes=30), ServiceFactory(name="Reset", minutes=None)
    for day, price in ((date(2025, 1, 1), "50"), (TODAY, "55.50"), (TODAY + timedelta(1), "60")):
        Price.objects.create(service=trim, valid_from=day, price=D(price))
    Price.objects.create(service=reset, valid_from=TODAY + timedelta(1), price=D(90))

    assert listed(browser, "practice:service-list") == [
        ("", [("Trim", "30 min", "$55.50", False, ""), ("Reset", "", "no price", True, "")])
    ]
    assert heading_of(browser, "practice:service-list") == "1 of 2 services without a price."


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [SMALL_PHONE, PHONE, DESK], ids=["small phone", "phone", "desk"])
def test_the_pages_of_money_stand_in_one_row_and_in_sight(open_page, user, size):
    page = open_page(*size, user=user)

    for name in ("practice:service-list", "billing:what-pays-now", "billing:mileage-rate-list"):
        page.goto(reverse(name))
        boxes = [link.bounding_box() for link in page.locator("nav[aria-label=Money] a").all()]
        assert len({box["y"] for box in boxes}) == 1
        assert min(box["x"] for box in boxes) >= 0
        assert max(box["x"] + box["width"] for box in boxes) <= size[0]
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
