"""Home is worked out once, and again as soon as anything that it shows is another."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import CheckedWarning, Invoice, Price, TaxRate
from practice.actions.visits import cancel_visit
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner, Place, Reading, Service, Vehicle, Visit
from practice.project.begin.own_book import begin_own_book
from practice.project.book.importer import import_book
from practice.project.home import HOME_RESTS_ON, kept_home, work_out_home
from practice.reports.planner import plan_on
from stock.models import Item
from tests.factories.billing import ChargeFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    LegFactory,
    ProfileFactory,
    ReadingFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    trim,
)
from tests.project.small_book import write_small_book

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def practice(browser, settings):
    """A day with a stop that is done and one that is planned, and an invoice that is not paid."""
    settings.TODAY = DAY
    ProfileFactory()
    ann, truck = ClientFactory(name="Ann"), VehicleFactory(name="Truck")
    TaxRate.objects.create(name="State", valid_from=date(2020, 1, 1), rate=D(5))
    trim(ann, on=DAY - timedelta(42))
    close_days(DAY - timedelta(42), DAY - timedelta(42), DAY)
    work = trim(ann, vehicle=truck, price=None)
    Service.objects.update(taxable=True)
    Price.objects.create(service=work.service, valid_from=date(2020, 1, 1), price=D(50))
    VisitFactory(date=DAY, vehicle=truck, status="planned", place__name="High Barn")
    ReadingFactory(date=DAY, vehicle=truck, at="start", reading=D(100))


@pytest.fixture
def said(browser):
    """Return a function that opens home and gives all that is on it."""

    def open_home() -> str:
        return re.sub(r'value="[^"]{20,}"', "", browser.get(reverse("home")).content.decode())

    return open_home


CHANGES = {
    "a payment": lambda: record_payment(Client.objects.get(name="Ann"), DAY, D(10), "cash"),
    "a client's name": lambda: Client.objects.update(name="Anne"),
    "a place's name": lambda: Place.objects.filter(name="High Barn").update(name="Low Barn"),
    "a price": lambda: Price.objects.update(price=D(60)),
    "an owner who is gone": lambda: Owner.objects.all().delete(),
    "a stop that is canceled": lambda: cancel_visit(Visit.objects.get(status="planned")),
    "one more stop": lambda: VisitFactory(date=DAY),
    "one more work": lambda: WorkFactory(visit=Visit.objects.get(date=DAY, status="done"), price=D(20)),
    "a service's name": lambda: Service.objects.update(feet_nailed=4, new_shoes=4),
    "a horse's name": lambda: Horse.objects.update(name="Juno"),
    "a drive": lambda: LegFactory(
        date=DAY, vehicle=Vehicle.objects.get(), visit=Visit.objects.get(date=DAY, status="done")
    ),
    "a reading in the evening": lambda: ReadingFactory(
        date=DAY, vehicle=Vehicle.objects.get(), at="end", reading=D(120)
    ),
    "no reading in the morning": lambda: Reading.objects.all().delete(),
    "a charge": lambda: ChargeFactory(client=Client.objects.get(name="Ann"), date=DAY),
    "a tax rate": lambda: TaxRate.objects.all().delete(),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_a_change_is_on_home_at_once(practice, said, change):
    before = said()
    change()

    assert said() != before


def test_a_warning_that_is_right_and_a_credit_note_are_on_home_at_once(practice, said):
    told = [said()]
    [warning, *_] = work_out_home(DAY).report.warnings

    CheckedWarning.objects.create(date=DAY, text=warning.text)
    told.append(said())
    issue_credit_note(Invoice.objects.get(), DAY)
    told.append(said())

    assert len(set(told)) == 3


def test_what_is_kept_is_not_looked_up_again(practice, browser):
    browser.get(reverse("home"))

    with CaptureQueriesContext(connection) as asked:
        browser.get(reverse("home"))

    read = {table for query in asked for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', query["sql"])}
    grows = {"practice_visit", "practice_work", "practice_leg", "billing_invoice", "billing_invoiceline"}
    assert read & grows == set()


def test_every_table_that_it_reads_has_its_triggers(tmp_path):
    """A query of another table that comes in one day fails here, until that table is named."""
    write_small_book(tmp_path / "book")
    assert import_book(tmp_path / "book").problems == []

    with CaptureQueriesContext(connection) as asked:
        for on in (date(2026, 10, 14), date(2026, 10, 20), date(2026, 11, 30), date(2026, 12, 2)):
            work_out_home(on)

    read = {table for query in asked for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', query["sql"])}
    assert read - {model._meta.db_table for model in HOME_RESTS_ON} == {"practice_stamp"}


def test_nothing_of_the_demo_is_kept_when_it_is_replaced(practice):
    Profile.objects.update(is_demo=True)
    Item.objects.create(name="Plain front", kind="shoe")
    before = len(plan_on(DAY).suggestions), len(kept_home(DAY).balances)

    begin_own_book()

    assert before == (1, 1)
    assert (plan_on(DAY).suggestions, kept_home(DAY).balances) == ([], [])
