"""`year_end` as other programs see it: one small book, worked by hand."""

import json
from datetime import date
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice, Price
from practice.lib.errors import RuleBroken
from practice.models import Leg, Reading
from stock.actions.movements import NewFact, add_facts, count_item, receive_item
from tests.factories.billing import ExpenseFactory
from tests.factories.practice import (
    ClientFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal
MAY = date(2026, 5, 4)


@pytest.fixture
def small_book(settings):
    """One visit of 52.00, paid with 60.00 of which 5.00 is a tip; twelve shoes, four used; one drive."""
    settings.TODAY = date(2026, 10, 14)
    ProfileFactory(mileage_scheme="us_standard")
    trim, truck, client = (
        ServiceFactory(ref="trim"),
        VehicleFactory(ref="truck"),
        ClientFactory(name="Tarn Barns"),
    )
    Price.objects.create(service=trim, valid_from=date(2026, 1, 1), price=52)
    visit = VisitFactory(date=MAY, status="done")
    WorkFactory(visit=visit, horse=owned_horse(client), service=trim, price=None)
    close_days(MAY, MAY, MAY)
    record_payment(client, MAY, D(60), "cash", tip=D(5), invoice=Invoice.objects.get())
    item = ItemFactory()
    count_item(item, D(10), on=date(2026, 1, 2), unit_cost=D("3.4"))
    receive_item(item, D(2), D("3.7"), on=date(2026, 2, 2))
    add_facts([NewFact(item, MAY, "use", D(4))])
    for at, value in (("start", "100"), ("end", "130.5")):
        Reading.objects.create(vehicle=truck, date=MAY, at=at, reading=D(value))
    Leg.objects.create(vehicle=truck, date=MAY, distance=D("30.5"), purpose="business", visit=visit)
    ExpenseFactory(date=MAY, category="vehicle fuel", amount=D("48.20"))
    ExpenseFactory(date=MAY, category="parking and tolls", amount=D("3.50"))
    ExpenseFactory(date=MAY, category="advertising", amount=D("20"))


def printed(capsys, *args):
    call_command("year_end", *args)
    return capsys.readouterr().out


def test_the_year_is_printed_as_the_contract_says(small_book, capsys):
    nothing = ["0.00"] * 12
    of_may = [*nothing[:4], "60.00", *nothing[5:]]
    billed = [*nothing[:4], "52.00", *nothing[5:]]

    assert json.loads(printed(capsys, "2026", "--json")) == {
        "year": 2026,
        "from": "2026-01-01",
        "to": "2026-12-31",
        "currency": "USD",
        "received": {
            "total": "60.00",
            "net_of_tax": "60.00",
            "refunds": "0.00",
            "tips": "5.00",
            "by_month": of_may,
        },
        "invoiced": {"net": "52.00", "tax": "0.00", "total": "52.00", "by_month": billed},
        "receivable_at_year_end": "0.00",
        "credits_at_year_end": "3.00",
        "tax_charged": "0.00",
        "tax_collected": "0.00",
        "materials": {
            "opening_value": "34.00",
            "purchased": "7.40",
            "withdrawn": "0.00",
            "used": "13.80",
            "count_adjustments": "0.00",
            "closing_value": "27.60",
        },
        "expenses": [
            {"category": "advertising", "amount": "20.00", "schedule_c_line": "8"},
            {"category": "vehicle fuel", "amount": "48.20", "schedule_c_line": "9 actual method only"},
            {"category": "parking and tolls", "amount": "3.50", "schedule_c_line": "9"},
        ],
        "mileage": {
            "unit": "mi",
            "business": "30.5",
            "commuting": "0",
            "personal": "0",
            "unlogged": "0",
            "total": "30.5",
            "vehicles": [
                {
                    "vehicle": "truck",
                    "business": "30.5",
                    "commuting": "0",
                    "personal": "0",
                    "first_odometer": "100",
                    "last_odometer": "130.5",
                    "unlogged": "0",
                    "costs": "48.20",
                    "business_share": "1.000000",
                    "actual": "48.20",
                }
            ],
            "standard": [
                {
                    "from": "2026-01-01",
                    "to": "2026-06-30",
                    "tier_from": "0",
                    "distance": "30.5",
                    "rate": "0.725",
                    "amount": "22.11",
                    "carried": False,
                },
                {
                    "from": "2026-07-01",
                    "to": "2026-12-31",
                    "tier_from": "0",
                    "distance": "0",
                    "rate": "0.76",
                    "amount": "0.00",
                    "carried": False,
                },
            ],
            "standard_total": "22.11",
            "parking_and_tolls": "3.50",
            "actual": {"costs": "48.20", "business_share": "1.000000", "amount": "48.20"},
        },
        "visits": 1,
        "horses_seen": 1,
        "work_by_service": [{"service": "trim", "count": "1", "net": "52.00"}],
        "warnings": ["Tarn Barns has $3.00 of unused credit."],
    }


def test_it_is_printed_in_words_and_defers_to_a_preparer(small_book, capsys):
    lines = printed(capsys, "2026").splitlines()

    assert lines[0] == "January 1, 2026 to December 31, 2026"
    assert lines[-1] == (
        "Both ways for miles and materials are shown; neither is advised."
        " Rules change. A licensed tax preparer decides."
    )
    assert f"{'Received':<40}{'$60.00':>16}" in lines


def test_an_empty_book_has_a_year_of_nothing(capsys):
    found = json.loads(printed(capsys, "2026", "--json"))

    assert (found["received"]["total"], found["visits"], found["warnings"]) == ("0.00", 0, [])


def test_a_year_that_no_calendar_has_is_refused():
    with pytest.raises(RuleBroken, match="Type one such as 2026"):
        call_command("year_end", "9999")


def test_a_year_that_is_no_number_is_refused():
    with pytest.raises(CommandError):
        call_command("year_end", "soon")
