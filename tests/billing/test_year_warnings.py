"""What is still to fix in a year."""

from datetime import date
from decimal import Decimal

import pytest

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.reports.year.warnings import YearIssue
from billing.reports.year_end import year_end
from practice.models import Leg, Reading
from stock.actions.movements import NewFact, add_facts
from tests.factories.billing import ExpenseFactory, InvoiceFactory, MileageRateFactory
from tests.factories.practice import (
    ClientFactory,
    PlaceFactory,
    ProfileFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    trim,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal
MAY, TODAY = date(2026, 5, 4), date(2026, 10, 14)


def read_vehicle(on):
    """A vehicle whose odometer was read before and after ten miles of a day."""
    vehicle = VehicleFactory()
    for at, value in (("start", 5), ("end", 15)):
        Reading.objects.create(vehicle=vehicle, date=on, at=at, reading=D(value))
    return vehicle


def warnings(profile, year=2026, today=TODAY):
    return list(year_end(year, profile, today).warnings)


def test_days_that_are_not_closed_are_listed_with_the_reason():
    """May 4: 50.00 not invoiced; May 5: one without a price; May 6: never done; tomorrow is yet to come."""
    profile = ProfileFactory()
    trim(on=MAY)
    trim(on=date(2026, 5, 5), price=None)
    VisitFactory(date=date(2026, 5, 6))
    VisitFactory(date=date(2026, 10, 15))
    trim(on=date(2026, 5, 7), billed=True)
    trim(on=date(2026, 5, 8))
    close_days(date(2026, 5, 8), date(2026, 5, 8), TODAY)

    assert warnings(profile) == [
        YearIssue("open_day", "May 4, 2026 is not closed: $50.00 not invoiced.", MAY),
        YearIssue("open_day", "May 5, 2026 is not closed: 1 visit held back.", date(2026, 5, 5)),
        YearIssue(
            "open_day", "May 6, 2026 is not closed: 1 planned visit without an entry.", date(2026, 5, 6)
        ),
    ]


def test_a_month_that_is_not_invoiced_is_listed_once_it_is_over():
    profile = ProfileFactory()
    client = ClientFactory(name="Hazel Stables", billing="monthly")
    trim(client, on=MAY)
    trim(client, on=date(2026, 5, 5))
    trim(client, on=date(2026, 10, 2))

    assert warnings(profile) == [
        YearIssue("open_month", "Hazel Stables: $100.00 for May 2026 is not invoiced.", date(2026, 5, 31))
    ]


def test_work_for_nothing_keeps_no_day_open():
    profile = ProfileFactory()
    trim(on=MAY, price="0")

    assert warnings(profile) == []


def test_a_done_visit_without_work_is_listed():
    profile = ProfileFactory()
    visit = VisitFactory(date=MAY, status="done", place=PlaceFactory(name="Old Kiln"))

    assert warnings(profile) == [
        YearIssue(
            "no_work",
            "Old Kiln, May 4, 2026: the visit is done, but has no work. Nothing is billed for it.",
            visit.pk,
        )
    ]


def test_jumps_are_listed_by_vehicle_and_lead_to_the_largest():
    profile = ProfileFactory()
    truck = VehicleFactory(name="Blue truck")
    for on, value in ((MAY, "100"), (date(2026, 5, 6), "112"), (date(2026, 5, 9), "142.5")):
        Reading.objects.create(vehicle=truck, date=on, at="start", reading=D(value))

    assert warnings(profile) == [
        YearIssue(
            "jumps",
            "Blue truck: 42.5\u00a0mi not logged, from 2 odometer jumps, the largest 30.5\u00a0mi"
            " on May 9, 2026. Not claimed.",
            date(2026, 5, 9),
        )
    ]


UNREAD = (
    "not logged is unknown, as there are no two odometer readings to tell it from."
    " Its total is what was logged."
)


def test_a_vehicle_without_two_readings_is_to_be_read():
    profile = ProfileFactory()
    Leg.objects.create(vehicle=VehicleFactory(name="Spare car"), date=MAY, distance=D(10), purpose="business")

    assert warnings(profile) == [YearIssue("unread", f"Spare car: {UNREAD}", MAY)]


def test_first_and_last_drives_without_a_reason_are_listed_where_home_is_elsewhere():
    """Of three drives of a day the middle one goes from one place of work to another."""
    profile = ProfileFactory(home_is_principal_place_of_business=False)
    truck, visit = read_vehicle(MAY), trim(on=MAY, billed=True).visit
    first, *_ = [
        Leg.objects.create(vehicle=truck, date=MAY, distance=D(far), purpose="business", visit=visit)
        for far in (3, 3, 4)
    ]

    [issue] = warnings(profile)

    assert (issue.kind, issue.url) == ("no_reason", first.get_absolute_url())
    assert issue.text.startswith("2 business drives have no reason, the first on May 4, 2026.")


def test_a_client_who_owes_and_has_credit_is_asked_about():
    """100.00 paid ahead for an invoice of next year, chosen by hand, while one of this year is open."""
    profile = ProfileFactory()
    client = ClientFactory(name="Dell Okada")
    InvoiceFactory(client=client, issued=MAY, net=D(80))
    later = InvoiceFactory(client=client, issued=date(2027, 1, 9), net=D(100))
    record_payment(client, MAY, D(100), "check", invoice=later)

    text = "Dell Okada owes $80.00 and has $100.00 of unused credit. Is it for what is owed?"
    assert warnings(profile) == [YearIssue("credit", text, client.pk)]


def test_vehicle_costs_that_name_none_of_several_vehicles_are_listed():
    profile = ProfileFactory()
    for _ in range(2):
        vehicle = read_vehicle(MAY)
        Leg.objects.create(vehicle=vehicle, date=MAY, distance=D(10), purpose="business")
    ExpenseFactory(date=MAY, category="vehicle fuel", amount=D(40), vehicle=vehicle)
    first = ExpenseFactory(date=MAY, category="vehicle fuel", amount=D(60))
    ExpenseFactory(date=MAY, category="vehicle insurance", amount=D("5.50"))
    ExpenseFactory(date=MAY, category="parking and tolls", amount=D(3))

    [issue] = warnings(profile)

    text = "2 vehicle costs name no vehicle, so $65.50 is left out of the actual costs."
    assert issue == YearIssue("unnamed", text, first.pk)
    assert issue.url == first.get_absolute_url()


def test_a_rate_that_is_carried_on_makes_the_total_provisional():
    profile = ProfileFactory(mileage_scheme="us_standard")
    MileageRateFactory(valid_from=date(2041, 1, 1), valid_to=date(2041, 6, 30))
    Leg.objects.create(
        vehicle=read_vehicle(date(2041, 8, 1)), date=date(2041, 8, 1), distance=D(10), purpose="business"
    )

    assert warnings(profile, 2041) == [
        YearIssue(
            "carried",
            "There is no mileage rate from Jul 1, 2041 on. With the last one, the total is provisional.",
        )
    ]


def test_miles_before_the_first_known_rate_are_listed():
    profile = ProfileFactory(mileage_scheme="us_standard")
    Leg.objects.create(
        vehicle=read_vehicle(date(1950, 8, 1)), date=date(1950, 8, 1), distance=D(10), purpose="business"
    )

    assert warnings(profile, 1950) == [
        YearIssue("no_rate", "There is no mileage rate for 10.0\u00a0mi of the business driving.")
    ]


def test_five_vehicles_at_once_are_listed():
    profile = ProfileFactory(mileage_scheme="us_standard")
    for _ in range(5):
        Leg.objects.create(vehicle=read_vehicle(MAY), date=MAY, distance=D(10), purpose="business")

    assert warnings(profile) == [
        YearIssue("refused", "More than 4 vehicles were in use on one day, so no standard rate is shown.")
    ]


def test_items_below_zero_at_the_end_are_to_be_counted():
    profile = ProfileFactory()
    item = ItemFactory(name="Plain front, No 2")
    add_facts([NewFact(item, MAY, "use", D(3))])

    assert warnings(profile) == [
        YearIssue("below_zero", "Plain front, No 2: −3 on hand on Dec 31, 2026. Count it.", item.pk)
    ]


def test_credit_that_nothing_used_is_listed():
    profile = ProfileFactory()
    client = ClientFactory(name="Dell Okada")
    record_payment(client, MAY, D(85), "check")

    assert warnings(profile) == [YearIssue("credit", "Dell Okada has $85.00 of unused credit.", client.pk)]


def test_nothing_of_other_years_is_listed():
    profile = ProfileFactory()
    trim(on=MAY)
    VisitFactory(date=MAY)
    WorkFactory(visit=VisitFactory(date=date(2027, 1, 1), status="done"))

    assert warnings(profile, 2025) == []


def test_many_visits_that_wait_are_listed_together(monkeypatch):
    monkeypatch.setattr("billing.reports.year.warnings.MANY", 2)
    profile = ProfileFactory()
    for day in (4, 4, 6):
        trim(on=date(2026, 5, day))
    for day in (5, 5, 5):
        VisitFactory(date=date(2026, 5, day), status="done")
    VisitFactory(date=date(2026, 5, 7))

    assert warnings(profile) == [
        YearIssue("open_day", "3 visits on 2 days are done but not invoiced, the first on May 4, 2026.", MAY),
        YearIssue(
            "open_day", "May 7, 2026 is not closed: 1 planned visit without an entry.", date(2026, 5, 7)
        ),
        YearIssue(
            "open_day",
            "3 visits on 1 day are done but have no work, the first on May 5, 2026.",
            date(2026, 5, 5),
        ),
    ]
