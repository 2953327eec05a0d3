"""Charges and clients' discounts: which invoice they go on, and what comes of them afterwards."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from billing.actions.charges import add_charge, change_charge, delete_charge
from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Charge, Invoice, InvoiceLine, TaxRate
from billing.reports.closing import day_report
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Visit
from tests.factories.billing import ChargeFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
    trim,
)

pytestmark = pytest.mark.django_db
D = Decimal
TODAY = DAY + timedelta(days=30)
NEXT, MONTH_END = DAY + timedelta(1), date(2026, 10, 31)


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


@pytest.fixture
def ann():
    return ClientFactory(name="Ann")


def close(begin=DAY, end=None, today=TODAY):
    return close_days(begin, end or begin, today).invoices


def lines_of(invoice):
    return [(row.kind, row.name, row.net) for row in invoice.lines.order_by("pk")]


def charge(client, amount, on=DAY, **more):
    return ChargeFactory(client=client, unit_price=D(amount), date=on, **more)


# Which invoice


def test_a_charge_goes_on_the_clients_invoice_of_its_day_after_the_lines_of_visits(ann):
    charge(ann, "25.00", quantity=D(2))
    trim(ann)

    [invoice] = close()

    assert [(row.kind, row.net) for row in invoice.lines.order_by("pk")] == [("service", 50), ("charge", 50)]
    row = invoice.lines.last()
    assert (row.code, row.quantity, row.unit_price, row.share) == (Charge.objects.get().key, 2, 25, 100)
    assert (row.horse, row.visit) == (None, None)


def test_a_charge_is_an_invoice_of_its_own_and_a_day_is_not_closed_before(ann):
    charge(ann, "25.00")
    profile = Profile.current()
    assert not day_report(DAY, profile, TODAY).is_closed
    assert day_report(NEXT, profile, TODAY).older == [DAY]

    [invoice] = close()

    assert (invoice.total, lines_of(invoice)) == (25, [("charge", "No-show", 25)])
    assert day_report(DAY, profile, TODAY).is_closed
    assert close() == []


def test_a_charge_is_billed_whatever_holds_its_visit_back(ann):
    held = trim(ann, price=None).visit
    canceled = VisitFactory(status="cancelled")
    charge(ann, "25.00", visit=held)
    charge(ann, "30.00", visit=canceled)

    [invoice] = close()

    assert [line.visit for line in invoice.lines.order_by("pk")] == [held, canceled]
    assert not Visit.objects.filter(locked=True)
    assert [row.visit for row in day_report(DAY, Profile.current(), TODAY).held] == [held]


def test_one_of_a_client_billed_by_the_month_goes_on_the_months_invoice():
    ben = ClientFactory(billing="monthly")
    charge(ben, "25.00")
    assert close() == []

    [invoice] = close(MONTH_END)

    assert (invoice.issued, invoice.total) == (MONTH_END, 25)


def test_charges_are_taxed_by_their_day_and_the_area_of_their_visits_place(ann):
    for name, rate, area in (("State", 5, ""), ("County", 2, "North")):
        TaxRate.objects.create(name=name, rate=D(rate), area=area, valid_from=DAY)
    TaxRate.objects.create(name="State", rate=D(6), area="", valid_from=NEXT)
    there = VisitFactory(place=PlaceFactory(area="North"), status="cancelled")
    charge(ann, "100.00", taxable=True, visit=there)
    charge(ann, "100.00", taxable=True)
    charge(ann, "100.00")
    charge(ann, "100.00", NEXT, taxable=True)

    first, second = close(DAY, NEXT)

    assert [row.tax_names for row in first.lines.order_by("pk")] == ["State;County", "State", ""]
    assert (first.tax, second.tax) == (12, 6)


# Below zero


def test_a_negative_charge_lowers_the_invoice_of_its_day(ann):
    trim(ann)
    charge(ann, "-8.00", name="Thank you")

    [invoice] = close()

    assert (invoice.net, invoice.lines.count()) == (42, 2)


def test_one_that_does_not_fit_waits_for_the_clients_next_invoice_and_keeps_no_day_open(ann):
    charge(ann, "-60.00")
    trim(ann, price="40")
    trim(ann, on=NEXT, price="75")

    [first] = close()
    was_closed = day_report(DAY, Profile.current(), TODAY).is_closed
    [second] = close(NEXT)

    assert (first.net, was_closed, second.net) == (40, True, 15)
    assert Charge.objects.uninvoiced().count() == 0


def test_the_last_entered_wait_first(ann):
    trim(ann, price="40")
    for amount in ("-30.00", "-20.00"):
        charge(ann, amount)

    [invoice] = close()

    assert (invoice.net, [row.unit_price for row in Charge.objects.uninvoiced()]) == (10, [-20])
    assert day_report(DAY, Profile.current(), TODAY).is_closed


def test_a_discount_of_an_amount_alone_makes_no_invoice(ann):
    charge(ann, "-10.00")

    assert close() == []
    assert day_report(DAY, Profile.current(), TODAY).is_closed


def test_closing_a_later_day_first_leaves_one_to_the_day_where_it_fits(ann):
    charge(ann, "-10.00")
    trim(ann)
    trim(ann, on=NEXT)

    [later] = close(NEXT)
    [earlier] = close(DAY)

    assert (earlier.net, later.net) == (40, 50)


def test_closing_a_later_day_first_takes_one_that_fits_nowhere_before(ann):
    charge(ann, "-10.00")
    trim(ann, price="5")
    trim(ann, on=NEXT)

    [later] = close(NEXT)
    [earlier] = close(DAY)

    assert (earlier.net, later.net) == (5, 40)


def test_an_exempt_clients_bases_are_looked_at_too():
    TaxRate.objects.create(name="State", rate=D(5), area="", valid_from=DAY)
    exempt = ClientFactory(tax_exempt=True)
    trim(exempt)
    charge(exempt, "-10.00", taxable=True)

    [invoice] = close()

    assert (invoice.net, Charge.objects.uninvoiced().count()) == (50, 1)


def test_days_closed_in_any_order_bill_every_charge_once(ann):
    for step in range(4):
        trim(ann, on=DAY + timedelta(step), price=str(10 * step + 10))
        charge(ann, f"-{12 - step}.00", DAY + timedelta(step))

    for step in (2, 0, 3, 1):
        close(DAY + timedelta(step))

    assert [row.net >= 0 for row in Invoice.objects.all()] == [True] * 4
    invoiced = sum(row.unit_price for row in Charge.objects.filter(line__isnull=False))
    assert sum(row.net for row in Invoice.objects.all()) == 100 + invoiced
    assert [row.unit_price for row in Charge.objects.uninvoiced()] == []


# A client's discount


def test_a_client_with_a_discount_pays_less_for_services_not_for_charges_and_travel(ann):
    Profile.objects.update(travel_rule="per_visit", travel_rate=D(20))
    Client.objects.update(discount=D(5))
    charge(ann, "10.00")
    trim(ann)

    [invoice] = close()

    kinds = [row.kind for row in invoice.lines.order_by("pk")]
    assert (kinds, invoice.net) == (["service", "travel", "charge", "discount"], D("77.50"))
    row = invoice.lines.last()
    assert (row.code, row.quantity, row.unit_price, row.net, row.percent) == (
        "",
        1,
        D("-2.50"),
        D("-2.50"),
        5,
    )
    assert (row.visit, row.horse, row.share) == (None, None, 100)


def test_an_exempt_clients_discount_goes_by_the_sets_that_would_be():
    TaxRate.objects.create(name="State", rate=D(5), area="", valid_from=DAY)
    exempt = ClientFactory(tax_exempt=True, discount=D(10))
    horse, visit = owned_horse(exempt), VisitFactory(status="done")
    WorkFactory(horse=horse, visit=visit, service=ServiceFactory(taxable=True), price=D(30))
    WorkFactory(horse=horse, visit=visit, price=D(50))

    [invoice] = close()

    rows = invoice.lines.filter(kind="discount").order_by("pk")
    assert [(row.net, row.tax_names) for row in rows] == [(-3, "State"), (-5, "")]
    assert (invoice.net, invoice.tax) == (72, 0)


def test_the_discount_is_that_of_the_day_of_issue_and_a_full_one_leaves_nothing_to_pay(ann):
    trim(ann)
    Client.objects.update(discount=D(100))

    [invoice] = close()

    assert (invoice.total, invoice.lines.count()) == (0, 2)
    assert close() == []


def test_a_discount_comes_before_negative_charges_are_looked_at(ann):
    Client.objects.update(discount=D(50))
    trim(ann)
    charge(ann, "-30.00")

    [invoice] = close()

    assert (invoice.net, Charge.objects.uninvoiced().count()) == (25, 1)


# The minimum per call


def test_a_visit_below_the_minimum_is_brought_up_to_it_whatever_other_charges_there_are(ann):
    Profile.objects.update(minimum_call=D(80))
    visit = trim(ann).visit
    charge(ann, "25.00", visit=visit)

    [invoice] = close()

    rows = [(row.kind, row.code, row.net, row.visit) for row in invoice.lines.order_by("pk")]
    key = Charge.objects.get().key
    assert rows[1:] == [("charge", "minimum", 30, visit), ("charge", key, 25, visit)]


# Until it is invoiced, and after


def test_a_charge_can_be_changed_and_deleted_until_it_is_invoiced(ann):
    first, second = charge(ann, "25.00"), charge(ann, "5.00")

    changed = change_charge(first, {"unit_price": D(30), "name": "Nobody there"})
    delete_charge(second)
    [invoice] = close()

    assert lines_of(invoice) == [("charge", "Nobody there", 30)]
    for action, more in ((change_charge, [{"name": "x"}]), (delete_charge, [])):
        with pytest.raises(RuleBroken) as broken:
            action(changed, *more)
        assert broken.value.code == "charge_invoiced"


def test_a_day_closed_for_good_takes_no_charge(ann):
    waiting = charge(ann, "-5.00")
    Profile.objects.update(closed_through=DAY)

    for action in (
        lambda: add_charge(ann, DAY, "Late", D(5)),
        lambda: change_charge(waiting, {"date": NEXT}),
        lambda: delete_charge(waiting),
    ):
        with pytest.raises(RuleBroken) as broken:
            action()
        assert broken.value.code == "day_closed"


def test_an_amount_of_nothing_is_no_charge(ann):
    with pytest.raises(RuleBroken) as broken:
        add_charge(ann, DAY, "Nothing", D(0))
    assert broken.value.code == "charge_of_nothing"


def test_pressing_twice_adds_one(ann):
    uuid = "b3b3a3f0-0000-4000-8000-000000000002"

    rows = [add_charge(ann, DAY, "No-show", D(25), uuid=uuid) for _ in range(2)]

    assert (rows[0], Charge.objects.count()) == (rows[1], 1)


def test_no_charge_stands_on_two_invoices(ann):
    charge(ann, "25.00")
    [invoice] = close()
    line = invoice.lines.get()

    with pytest.raises(IntegrityError), transaction.atomic():
        InvoiceLine.objects.create(
            invoice=invoice,
            client=ann,
            kind="charge",
            charge=line.charge,
            **dict.fromkeys(("quantity", "share"), D(1)),
            **dict.fromkeys(("unit_price", "net"), D(25)),
        )


def test_a_credited_charge_is_not_invoiced_again_and_its_visit_stays_as_it_is(ann):
    visit = trim(ann).visit
    charge(ann, "25.00", visit=visit)
    [invoice] = close()

    issue_credit_note(invoice, DAY, {2: None})

    visit.refresh_from_db()
    assert (visit.locked, close()) == (True, [])


def test_a_visit_is_freed_by_the_credit_of_its_own_parts_alone_and_billed_again_without_its_charge(ann):
    visit = trim(ann).visit
    charge(ann, "25.00", visit=visit)
    [invoice] = close()

    issue_credit_note(invoice, DAY, {1: None}, again=True)
    [again] = close()

    assert lines_of(again) == [("service", lines_of(invoice)[0][1], 50)]
    assert again.issued == DAY


def test_crediting_a_line_credits_its_discount(ann):
    Client.objects.update(discount=D(5))
    visit = VisitFactory(status="done")
    for price in (30, 70):
        WorkFactory(visit=visit, horse=owned_horse(ann), price=D(price))
    [invoice] = close()

    note = issue_credit_note(invoice, DAY, {1: None})

    assert (note.net, [row.net for row in note.lines.order_by("pk")]) == (D("28.50"), [30, D("-1.50")])


def test_a_payment_that_names_nothing_settles_by_date_also_where_a_discount_has_no_visit(ann):
    Client.objects.update(discount=D(10))
    for on in (DAY, NEXT):
        trim(ann, on=on)
    first, second = close(DAY, NEXT)
    other = VisitFactory()

    record_payment(ann, NEXT, D(10), "cash")
    record_payment(ann, NEXT, D(10), "cash", visit=other)

    left = Invoice.objects.with_settled().order_by("pk")
    assert [(row.pk, row.open) for row in left] == [(first.pk, 25), (second.pk, 45)]


def test_parts_of_a_shared_horse_stand_beside_one_owners_discount():
    half, ben = OwnerFactory(client__discount=D(10), share=D(50)), ClientFactory()
    OwnerFactory(horse=half.horse, client=ben, share=D(50))
    WorkFactory(horse=half.horse)

    assert [(row.client, row.net) for row in close()] == [(half.client, D("22.50")), (ben, 25)]
