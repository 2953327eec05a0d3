"""Issuing: who is billed what, when, under which number, exactly once."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import AccountDay, Invoice, InvoiceLine, Price, TaxRate
from billing.reports.close_warnings import warnings_of
from billing.reports.closing import day_report
from practice.actions.visits import cancel_visit, reopen_visit
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, Visit
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
    trim,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal
TODAY = DAY + timedelta(days=30)
MONTH_END = date(2026, 10, 31)


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


def close(begin=DAY, end=None, today=TODAY):
    return close_days(begin, end or begin, today)


def invoices():
    return [(row.number, str(row.client), row.issued, row.total) for row in Invoice.objects.order_by("pk")]


def test_a_client_gets_one_invoice_for_the_day_over_all_places():
    ann = ClientFactory(name="Ann")
    trim(ann)
    trim(ann, price="60")

    close()

    assert invoices() == [("GF-2026-0001", "Ann", DAY, 110)]
    assert Invoice.objects.get().due == DAY + timedelta(days=14)


def test_numbers_go_by_date_then_by_clients_in_order_of_entry():
    ann, ben = ClientFactory(name="Ann"), ClientFactory(name="Ben")
    trim(ben)
    trim(ann)
    trim(ben, on=DAY - timedelta(1))

    close(DAY - timedelta(1), DAY)

    assert [row[:3] for row in invoices()] == [
        ("GF-2026-0001", "Ben", DAY - timedelta(1)),
        ("GF-2026-0002", "Ann", DAY),
        ("GF-2026-0003", "Ben", DAY),
    ]


def test_a_number_stands_above_imported_ones_of_its_form_and_each_year_begins_anew():
    for number in ("GF-2026-0041", "GF-2026-9", "2026-0099", "GF-2025-0100"):
        Invoice.objects.create(
            number=number, client=ClientFactory(), issued=DAY, due=DAY, net=1, tax=0, total=1
        )
    trim()
    trim(on=date(2027, 1, 2))

    closing = close(DAY, date(2027, 1, 2))

    assert [row.number for row in closing.invoices] == ["GF-2026-0042", "GF-2027-0001"]


def test_numbers_go_on_beyond_four_digits_and_without_a_prefix():
    Profile.objects.update(invoice_prefix="")
    Invoice.objects.create(
        number="2026-9999", client=ClientFactory(), issued=DAY, due=DAY, net=1, tax=0, total=1
    )
    trim()

    assert [row.number for row in close().invoices] == ["2026-10000"]


def test_closing_again_issues_nothing_more():
    trim()

    assert [len(close().invoices) for _ in range(3)] == [1, 0, 0]


def test_lines_found_later_go_on_one_more_invoice_of_the_same_date():
    ann = ClientFactory(name="Ann")
    trim(ann)
    close()
    trim(ann, price="20")

    close()

    assert invoices()[1:] == [("GF-2026-0002", "Ann", DAY, 20)]


def test_lines_of_days_closed_for_good_go_on_one_invoice_of_today():
    ann = ClientFactory(name="Ann")
    trim(ann)
    trim(ann, on=DAY + timedelta(1), price="20")
    Profile.objects.update(closed_through=DAY + timedelta(5))

    close(DAY, DAY + timedelta(1))

    assert invoices() == [("GF-2026-0001", "Ann", TODAY, 70)]


def test_a_monthly_client_is_billed_on_the_months_last_day():
    ann = ClientFactory(name="Ann", billing="monthly")
    trim(ann)
    trim(ann, on=MONTH_END, price="70")

    before = close(DAY, MONTH_END - timedelta(1)).invoices
    close(MONTH_END)

    assert before == []
    assert invoices() == [("GF-2026-0001", "Ann", MONTH_END, 120)]


def test_closing_a_later_day_issues_the_months_that_are_over():
    ann = ClientFactory(name="Ann", billing="monthly")
    trim(ann)

    close(MONTH_END + timedelta(3))

    assert invoices() == [("GF-2026-0001", "Ann", MONTH_END, 50)]


def test_an_older_day_of_a_client_billed_by_the_day_is_not_issued_with_another():
    trim(on=DAY - timedelta(1))

    assert close().invoices == []


def shared_work(*clients, price="99.99", **visit):
    horse = HorseFactory()
    for client, share in clients:
        OwnerFactory(horse=horse, client=client, share=D(share))
    return WorkFactory(horse=horse, visit=VisitFactory(status="done", **visit), price=D(price))


def test_owners_share_a_line_and_the_parts_add_up():
    shared_work((ClientFactory(name="Ann"), "60"), (ClientFactory(name="Ben"), "40"))

    close()

    assert [(row[1], row[3]) for row in invoices()] == [("Ann", D("59.99")), ("Ben", D("40.00"))]


def test_parts_of_others_are_written_down_and_wait_for_their_invoice():
    monthly = ClientFactory(name="Ben", billing="monthly")
    work = shared_work((ClientFactory(name="Ann"), "60"), (monthly, "40"))
    close()
    work.service.name = "Other"
    Price.objects.create(service=work.service, valid_from=DAY, price=500)

    work.visit.refresh_from_db()
    waiting = list(InvoiceLine.objects.waiting().values_list("client__name", "net"))
    close(MONTH_END)

    assert (work.visit.locked, waiting) == (True, [("Ben", D("40.00"))])
    assert invoices()[1:] == [("GF-2026-0002", "Ben", MONTH_END, D("40.00"))]


def test_a_locked_visit_is_neither_reopened_nor_cancelled():
    visit = trim().visit
    close()

    for action in (reopen_visit, cancel_visit):
        with pytest.raises(RuleBroken):
            action(visit)

    assert Visit.objects.get().status == "done"


def test_a_visit_without_a_price_waits_wholly_and_goes_on_a_further_invoice_once_mended():
    ann = ClientFactory(name="Ann")
    trim(ann)
    held = trim(ann, price=None)
    WorkFactory(visit=held.visit, horse=owned_horse(ClientFactory(name="Ben")), price=D(10))

    first = close()
    Price.objects.create(service=held.service, valid_from=DAY, price=45)
    close()

    assert [(row.visit, row.code) for row in first.held] == [(held.visit, "no_price")]
    assert [row[1:] for row in invoices()] == [("Ann", DAY, 50), ("Ann", DAY, 45), ("Ben", DAY, 10)]


def test_a_visit_without_an_owner_on_its_day_is_held_back():
    work = trim()
    work.horse.owners.update(valid_to=DAY - timedelta(1))

    closing = close()

    assert (closing.invoices, [row.code for row in closing.held]) == ([], ["no_owner"])


def test_by_distance_a_visit_without_a_drive_is_held_back_unless_its_rate_is_0():
    Profile.objects.update(travel_rule="per_distance", travel_rate=D("0.85"))
    held, free = trim(), trim(place=PlaceFactory(travel_rate=0))

    closing = close()

    assert [row.visit for row in closing.held] == [held.visit]
    assert [line.visit for line in InvoiceLine.objects.all()] == [free.visit]


def test_the_drive_is_shared_among_the_horses_and_billed():
    Profile.objects.update(travel_rule="per_distance", travel_rate=D("0.85"))
    work = trim(ClientFactory(name="Ann"))
    WorkFactory(visit=work.visit, horse=owned_horse(ClientFactory(name="Ben")), price=D(50))
    truck = VehicleFactory()
    for distance in ("10.0", "1.3"):
        Leg.objects.create(
            date=DAY, vehicle=truck, distance=D(distance), purpose="personal", visit=work.visit
        )

    close()

    # 11.3 × 0.85 = 9.605, rounded once to 9.61.
    assert [row[3] for row in invoices()] == [D("54.81"), D("54.80")]


def test_no_invoice_is_made_of_nothing_and_its_lines_go_with_the_next_of_that_date():
    ann = ClientFactory(name="Ann")
    trim(ann, price="0")
    report = day_report(DAY, Profile.current(), TODAY)

    nothing = close().invoices
    trim(ann, price="30")
    close()

    assert (nothing, report.is_closed) == ([], True)
    assert [line.net for line in Invoice.objects.get().lines.order_by("pk")] == [0, 30]


def test_a_visit_billed_before_the_book_began_is_never_invoiced():
    trim(billed=True)

    assert close().invoices == []


def test_taxes_hold_by_area_and_day_and_an_exempt_client_pays_none():
    TaxRate.objects.create(name="State", valid_from=date(2026, 1, 1), rate=D("4.5"))
    TaxRate.objects.create(name="County", valid_from=date(2026, 1, 1), rate=D("1.25"), area="Ottermark")
    TaxRate.objects.create(name="County", valid_from=date(2026, 1, 1), rate=D("9"), area="Fenmark")
    taxed, place = ServiceFactory(taxable=True), PlaceFactory(area="Ottermark")
    for client in (ClientFactory(name="Ann"), ClientFactory(name="Ben", tax_exempt=True)):
        visit = VisitFactory(status="done", place=place)
        WorkFactory(visit=visit, horse=owned_horse(client), service=taxed, price=D("3.00"))

    close()

    assert [row.tax for row in Invoice.objects.order_by("pk")] == [D("0.17"), 0]
    assert set(InvoiceLine.objects.values_list("tax_names", "tax_rates", "tax_areas")) == {
        ("State;County", "4.5;1.25", ";Ottermark")
    }


def test_an_invoice_keeps_the_credit_that_was_there_when_it_was_issued():
    ann = ClientFactory(name="Ann")
    record_payment(ann, DAY - timedelta(3), D(30), "cash")
    record_payment(ann, DAY + timedelta(3), D(5), "cash")
    trim(ann)

    close()

    invoice = Invoice.objects.with_settled().get()
    assert (invoice.credit_applied, invoice.settled) == (30, 35)


def test_a_payment_that_names_a_visit_is_set_aside_for_the_invoice_that_holds_it():
    ann = ClientFactory(name="Ann")
    first, second = trim(ann, on=DAY - timedelta(1)), trim(ann)
    close(DAY - timedelta(1))
    record_payment(ann, DAY, D(50), "cash", visit=second.visit)

    close()

    rows = Invoice.objects.get(issued=DAY).settlements.values_list("amount", "by_hand")
    assert (list(rows), first.visit.date) == ([(50, True)], DAY - timedelta(1))


def test_an_invoice_before_others_takes_the_credit_that_later_ones_had():
    ann = ClientFactory(name="Ann")
    trim(ann, on=DAY + timedelta(2))
    record_payment(ann, DAY + timedelta(1), D(50), "check")
    close(DAY + timedelta(2))
    trim(ann)

    close()

    late = Invoice.objects.with_settled().get(issued=DAY)
    assert (late.settled, Invoice.objects.with_settled().get(issued__gt=DAY).settled) == (50, 0)
    assert list(AccountDay.objects.values_list("date", "open", "credit")) == [
        (DAY, 50, 0),
        (DAY + timedelta(1), 0, 0),
        (DAY + timedelta(2), 50, 0),
    ]


def test_closing_a_day_takes_the_same_queries_for_four_clients_as_for_one():
    taken = []
    for clients, on in ((1, DAY), (4, DAY + timedelta(1))):
        for _ in range(clients):
            trim(ClientFactory(), on=on)
        with CaptureQueriesContext(connection) as queries:
            close(on)
        taken.append(len(queries))

    assert Invoice.objects.count() == 5
    assert taken[0] == taken[1]


def test_a_late_payment_of_a_closed_day_takes_the_first_open_one_and_says_so():
    Profile.objects.update(closed_through=DAY)

    payment = record_payment(ClientFactory(), DAY - timedelta(2), D(30), "cash", note="at the barn")

    assert payment.date == DAY + timedelta(1)
    assert payment.note == f"at the barn\nPaid on {DAY - timedelta(2)}, a day already closed."


def test_saving_a_payment_twice_gives_one_row():
    ann, key = ClientFactory(), "5f0e6a3e-0f6c-4f0a-9d0a-0d6a3c1b2a10"

    rows = [record_payment(ann, DAY, D(30), "cash", uuid=key) for _ in range(2)]

    assert rows[0] == rows[1] and ann.payments.count() == 1


def test_a_payment_for_another_clients_invoice_is_refused():
    trim()
    [invoice] = close().invoices
    stranger = ClientFactory()

    with pytest.raises(RuleBroken) as refusal:
        record_payment(stranger, DAY, D(30), "cash", invoice=invoice)

    assert refusal.value.code == "invoice_of_another_client"
    assert stranger.payments.count() == 0


def test_what_looks_wrong_is_told():
    truck = VehicleFactory(name="Truck")
    fronts = ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2)
    place = PlaceFactory(name="Larkspur Barn")
    visit = VisitFactory(place=place, status="done", vehicle=truck)
    WorkFactory(visit=visit, service=fronts, horse=owned_horse(name="Quince"))
    VisitFactory(place=PlaceFactory(name="Fenn Paddock"), status="done")
    VisitFactory(place=PlaceFactory(name="Quarry Hill"))

    told = [(warned.kind, warned.text) for warned in warnings_of(DAY, DAY, Profile.current())]

    assert told == [
        ("no_shoes", "Quince, Larkspur Barn: Fronts, but no shoes came off the truck."),
        ("no_reading", "Truck: no odometer reading at the start or the end of October 14."),
        ("no_work", "Fenn Paddock: marked done, but no work is entered. Nobody is billed."),
        ("planned", "Quarry Hill: planned for October 14, but nothing is entered."),
    ]


def test_a_lost_shoe_without_a_shoe_off_the_truck_is_told_until_one_comes_off():
    lost = ServiceFactory(name="Lost shoe", new_shoes=0, feet_nailed=1, resets_cycle=False)
    visit = VisitFactory(place=PlaceFactory(name="Larkspur Barn"), status="done")
    work = WorkFactory(visit=visit, service=lost, horse=owned_horse(name="Quince"))
    MaterialUseFactory(visit=visit, horse=work.horse, item=ItemFactory(kind="nail"), foot="LF")

    before = [(warned.kind, warned.text) for warned in warnings_of(DAY, DAY, Profile.current())]
    MaterialUseFactory(visit=visit, horse=work.horse, item=ItemFactory(kind="shoe"), foot="LF")
    after = warnings_of(DAY, DAY, Profile.current())

    assert before == [("no_shoes", "Quince, Larkspur Barn: Lost shoe, but no shoes came off the truck.")]
    assert after == []


def test_a_day_is_closed_when_nothing_is_left_of_it():
    profile = Profile.current()
    trim()
    open_day = day_report(DAY, profile, TODAY).is_closed

    close()

    assert (open_day, day_report(DAY, profile, TODAY).is_closed) == (False, True)
