"""Credit notes in the book: numbers, what they settle, what they free, and what is billed again."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from billing.actions.crediting import bill_again, issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.actions.settling import credit_left
from billing.models import AccountDay, CreditNote, Invoice, InvoiceLine, Settlement, TaxRate
from billing.reports.closing import day_report
from billing.reports.sales_tax import sales_tax
from billing.reports.what_pays import what_paid
from billing.reports.year.income import invoiced_in, tax_received
from billing.reports.year.work import work_in
from practice.actions.visits import cancel_visit
from practice.lib.errors import RuleBroken
from practice.lib.periods import Period, months_of, tax_year
from practice.lib.profile import Profile
from practice.models import Visit, Work
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    trim,
)

pytestmark = pytest.mark.django_db
D = Decimal
LATER, TODAY = DAY + timedelta(days=5), DAY + timedelta(days=30)
MONTH_END = date(2026, 10, 31)


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


def close(begin=DAY, end=None):
    return close_days(begin, end or begin, TODAY).invoices


def billed(client=None, price="50", **work):
    """Return the invoice of a trim, closed on its day."""
    trim(client, price=price, **work)
    [invoice] = close()
    return invoice


def held(on=DAY):
    return [(row.code, row.reason) for row in day_report(on, Profile.current(), TODAY).held]


def visit_of(invoice):
    return Visit.objects.get(lines__invoice=invoice)


def refused(code, action, *args, **kwargs):
    """Check that an action is refused, and that no credit note came of it."""
    before = CreditNote.objects.count()
    with pytest.raises(RuleBroken) as broken, transaction.atomic():
        action(*args, **kwargs)
    assert (broken.value.code, CreditNote.objects.count()) == (code, before)


def test_credit_notes_are_numbered_by_their_own_year_without_gaps():
    invoice = billed()

    for on in (LATER, TODAY, date(2027, 1, 4)):
        issue_credit_note(invoice, on, {1: D("10.00")})

    numbers = [row.number for row in CreditNote.objects.order_by("pk")]
    assert numbers == ["GF-CN-2026-0001", "GF-CN-2026-0002", "GF-CN-2027-0001"]


def test_without_a_prefix_and_above_imported_numbers():
    Profile.objects.update(invoice_prefix="")
    before = InvoiceFactory()
    CreditNote.objects.create(
        number="CN-2026-0041", invoice=before, issued=LATER, net=D(5), tax=D(0), total=D(5)
    )

    assert issue_credit_note(billed(), LATER).number == "CN-2026-0042"


def test_pressing_twice_issues_one():
    invoice, uuid = billed(), "b3b3a3f0-0000-4000-8000-000000000001"

    notes = [issue_credit_note(invoice, LATER, {1: D("10.00")}, uuid=uuid) for _ in range(2)]

    assert notes[0] == notes[1]
    assert CreditNote.objects.count() == 1


def test_an_issued_credit_note_stays_as_it_is():
    note = issue_credit_note(billed(), LATER)

    for rows in (CreditNote.objects.all(), note.lines.all()):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(net=D("1.00"))
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.delete()


@pytest.mark.parametrize(
    ("on", "options", "code"),
    [
        (DAY - timedelta(1), {}, "credit_before_invoice"),
        (LATER - timedelta(1), {}, "credit_before_last"),
        (LATER, {"reason": "goodwill", "again": True}, "credit_again_without_correction"),
        (LATER, {"amounts": {1: D("40.01")}}, "credit_more_than_left"),
        (LATER, {"amounts": {2: None}}, "credit_line_unknown"),
    ],
)
def test_what_cannot_be_credited_is_refused(on, options, code):
    invoice = billed()
    issue_credit_note(invoice, LATER, {1: D("10.00")})

    refused(code, issue_credit_note, invoice, on, **options)


def test_a_day_closed_for_good_takes_no_credit_note():
    invoice = billed()
    Profile.objects.update(closed_through=LATER)

    refused("day_closed", issue_credit_note, invoice, LATER)


# What it does to the account


def test_what_was_paid_beyond_what_is_left_settles_the_next_open_invoice():
    ann = ClientFactory()
    first = billed(ann)
    record_payment(ann, DAY, D(50), "cash")
    trim(ann, on=DAY + timedelta(1), price="20")
    [second] = close(DAY + timedelta(1))

    issue_credit_note(first, LATER, {1: D("30.00")})

    rows = Settlement.objects.order_by("pk").values_list("invoice", "date", "amount")
    assert list(rows) == [(first.pk, DAY, 50), (first.pk, LATER, -30), (second.pk, LATER, 20)]
    assert credit_left(ann) == 10
    assert [row.open for row in Invoice.objects.with_settled().order_by("pk")] == [0, 0]


def test_a_credited_invoice_is_not_open():
    first, second = billed(), billed()
    issue_credit_note(first, LATER)
    issue_credit_note(second, LATER, {1: D("20.00")}, reason="goodwill")

    [still_open] = Invoice.objects.outstanding()

    assert (still_open, still_open.open) == (second, 30)
    on = {row.client_id: (row.open, row.credit) for row in AccountDay.objects.on(LATER)}
    assert on == {first.client_id: (0, 0), second.client_id: (30, 0)}


# What it frees


def test_a_visit_that_is_credited_in_full_can_be_corrected_and_asks_to_be_billed_again():
    invoice = billed()
    visit = visit_of(invoice)
    note = issue_credit_note(invoice, LATER, {1: D("20.00")})
    assert visit_of(invoice).locked

    note = issue_credit_note(invoice, LATER)

    visit.refresh_from_db()
    assert not visit.locked
    assert held() == [("credited", f"Credit note {note} credited everything that was billed.")]
    assert close() == []


def test_once_said_it_is_billed_again_from_the_credit_notes_day_on():
    invoice = billed()
    visit = visit_of(invoice)
    issue_credit_note(invoice, LATER)
    visit.work.update(price=D(70))

    bill_again(visit)
    bill_again(visit)
    [again] = close()

    assert (again.number, again.issued, again.total) == ("GF-2026-0002", LATER, 70)
    assert [row.visit.date for row in again.lines.all()] == [DAY]
    assert (held(), close()) == ([], [])
    assert Visit.objects.get().locked


def test_the_credit_note_itself_may_say_it_and_a_later_one_asks_anew():
    invoice = billed()
    issue_credit_note(invoice, LATER, again=True)
    [second] = close()

    third = issue_credit_note(second, TODAY)

    assert held() == [("credited", f"Credit note {third} credited everything that was billed.")]
    bill_again(visit_of(invoice))
    [again] = close()
    assert [line.rebilled for line in again.lines.all()] == [2]
    assert again.issued == TODAY


def test_a_monthly_client_is_billed_again_on_the_month_s_last_day_or_the_credit_notes():
    early, late = (ClientFactory(billing="monthly") for _ in range(2))
    for client in (early, late):
        trim(client)
    first, second = close(DAY, MONTH_END)

    issue_credit_note(first, MONTH_END, again=True)
    issue_credit_note(second, MONTH_END + timedelta(4), again=True)

    assert close() == []
    dates = [invoice.issued for invoice in close(DAY, MONTH_END)]
    assert dates == [MONTH_END, MONTH_END + timedelta(4)]


@pytest.mark.parametrize("reason", ["goodwill", "bad_debt"])
def test_what_was_given_up_is_not_billed_again(reason):
    invoice = billed()
    issue_credit_note(invoice, LATER, {1: D("20.00")}, reason=reason)
    issue_credit_note(invoice, LATER)

    visit = visit_of(invoice)

    assert visit.locked
    refused("visit_not_credited", bill_again, visit)
    refused("visit_locked", cancel_visit, visit)


def shared_visit(*billing):
    """Return clients who own a horse together, and its trim of 60 on DAY."""
    clients = [ClientFactory(billing=how) for how in billing]
    horse = HorseFactory()
    for client in clients:
        OwnerFactory(horse=horse, client=client, share=D(50))
    work = WorkFactory(horse=horse, visit=VisitFactory(date=DAY, status="done"), price=D(60))
    return clients, work.visit


def test_a_shared_visit_is_freed_with_its_last_part():
    _, visit = shared_visit("per_day", "per_day")
    first, second = close()

    issue_credit_note(first, LATER)
    assert Visit.objects.get(pk=visit.pk).locked
    issue_credit_note(second, LATER)

    assert not Visit.objects.get(pk=visit.pk).locked


def test_parts_that_wait_are_dropped_and_billed_with_the_rest():
    _, visit = shared_visit("per_day", "monthly")
    [first] = close()
    assert InvoiceLine.objects.waiting().count() == 1

    issue_credit_note(first, LATER, again=True)

    assert InvoiceLine.objects.waiting().count() == 0
    visit.work.update(price=D(80))
    totals = [(invoice.issued, invoice.total) for invoice in close(DAY, MONTH_END)]
    assert totals == [(LATER, 40), (MONTH_END, 40)]


def test_a_canceled_visit_stops_asking():
    invoice = billed()
    issue_credit_note(invoice, LATER)

    cancel_visit(visit_of(invoice))

    assert held() == []


def test_a_free_visit_is_freed_with_its_invoice():
    ann = ClientFactory()
    trim(ann, price="0")
    invoice = billed(ann)

    issue_credit_note(invoice, LATER)

    assert not Visit.objects.filter(locked=True).exists()


# What the year says


@pytest.fixture
def taxed():
    """An invoice of 100.00 and 7 % tax, paid on its day."""
    TaxRate.objects.create(name="State", valid_from=date(2015, 1, 1), rate=7)
    work = trim(price="100")
    work.service.taxable = True
    work.service.save()
    [invoice] = close()
    record_payment(invoice.client, DAY, D(107), "cash")
    return invoice


def test_the_year_is_less_credit_notes_by_their_date(taxed):
    issue_credit_note(taxed, date(2027, 1, 8), {1: D("40.00")})
    years = [tax_year(year, "US") for year in (2026, 2027)]

    found = [invoiced_in(year, months_of(year)) for year in years]

    assert [(row.net, row.tax, row.total) for row in found] == [(100, 7, 107), (-40, D("-2.80"), D("-42.80"))]
    assert [row.credited for row in found] == [0, D("42.80")]
    assert found[1].by_month[0] == D("-42.80")
    assert [tax_received(year, "USD") for year in years] == [
        [(DAY, 7)],
        [(date(2027, 1, 8), D("-2.80"))],
    ]


def test_tax_received_moves_on_the_day_of_a_credit_note_also_where_nothing_is_settled_then(taxed):
    """Of 100.00 + 100.00 and 7.00 of tax half is paid, 3.50 of it tax; then the part without tax is credited.

    Of the 107.00 that are left 103.50 are paid: 6.77 of tax.
    """
    ann = ClientFactory()
    trim(ann, on=LATER, price="100")
    Work.objects.filter(visit__date=LATER).update(service=taxed.lines.get().service)
    trim(ann, on=LATER, price="100")
    [mixed] = close(LATER)
    record_payment(ann, LATER, D("103.50"), "cash")

    issue_credit_note(mixed, TODAY, {2: None})

    found = tax_received(Period(LATER, TODAY), "USD")
    assert found == [(LATER, D("3.50")), (TODAY, D("3.27"))]


def test_sales_tax_is_less_credit_notes(taxed):
    issue_credit_note(taxed, LATER, {1: D("40.00")})

    [row] = sales_tax(Period(DAY, LATER), Profile.current()).rows

    left = (60, 0, D("4.20"))
    assert (row.invoiced.taxable, row.invoiced.exempt, row.invoiced.tax) == left
    assert (row.received.taxable, row.received.exempt, row.received.tax) == left
    [later] = sales_tax(Period(LATER, LATER), Profile.current()).rows
    assert (later.invoiced.tax, later.received.tax) == (D("-2.80"), D("-2.80"))


def test_sales_tax_of_an_exempt_client_and_of_an_invoice_without_lines():
    TaxRate.objects.create(name="State", valid_from=date(2015, 1, 1), rate=7)
    work = trim(ClientFactory(tax_exempt=True), price="100")
    work.service.taxable = True
    work.service.save()
    [exempt] = close()
    before = InvoiceFactory(net=D(100), tax=D(6))
    issue_credit_note(exempt, LATER, {1: D("40.00")})
    issue_credit_note(before, LATER, {1: D("50.00")})

    rows = sales_tax(Period(DAY, LATER), Profile.current()).rows

    found = [(row.name, row.invoiced.taxable, row.invoiced.exempt, row.invoiced.tax) for row in rows]
    assert found == [("State", 0, 60, 0), ("", 50, 0, 3)]


def test_work_counts_once_however_often_it_was_billed():
    invoice = billed()
    service = Work.objects.get().service
    issue_credit_note(invoice, LATER, again=True)
    year = tax_year(2026, "US")
    freed = work_in(year, "USD").by_service
    Work.objects.update(price=D(70))
    close()

    found = work_in(year, "USD").by_service

    assert [(row.service, row.count, row.net) for row in (*freed, *found)] == [
        (service, 1, 50),
        (service, 1, 70),
    ]


def test_what_pays_is_less_what_was_credited():
    invoice, other = billed(), billed()
    issue_credit_note(invoice, LATER, {1: D("20.00")}, reason="goodwill")
    issue_credit_note(other, LATER)

    paid = what_paid(tax_year(2026, "US"), Profile.current())

    assert (paid.total.income, paid.held) == (30, 1)
