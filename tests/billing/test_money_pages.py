"""Who owes, accounts, invoices and payments on their pages."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice, Payment
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal
DUE = DAY + timedelta(14)


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DUE + timedelta(7)
    return ProfileFactory()


@pytest.fixture
def invoice():
    trim(ClientFactory(name="Ann"))
    close_days(DAY, DAY, DAY)
    return Invoice.objects.get()


def test_nobody_owes_where_nothing_is_open(browser):
    assert browser.get("/money/").context["heading"] == "Nobody owes anything."


def test_who_owes_is_overdue_since_the_earliest_invoice(browser, invoice):
    context = browser.get("/money/").context

    assert context["heading"] == "$50.00 owed. 1 client is overdue."
    assert [(row.name, row.more, row.fact, row.late, row.note) for row in context["rows"]] == [
        ("Ann", "1 invoice", "$50.00", True, "7 days overdue")
    ]


def test_what_is_owed_may_not_be_due_yet(browser, invoice, settings):
    settings.TODAY = DUE

    assert browser.get("/money/").context["heading"] == "$50.00 owed. Nobody is overdue."


def test_an_invoice_says_what_is_due_until_it_is_paid(browser, invoice):
    before = browser.get(invoice.get_absolute_url()).context["page"].heading
    record_payment(invoice.client, DAY, D("50"), "cash")

    assert before == "$50.00 due, 7 days overdue."
    assert browser.get(invoice.get_absolute_url()).context["page"].heading == "$50.00, paid in full."


def test_a_payment_is_recorded_from_its_invoice(browser, invoice):
    address = f"/clients/{invoice.client.pk}/payments/add/?invoice={invoice.pk}"
    form = browser.get(address).context["form"]

    answer = browser.post(address, {**form.initial, "tip": "", "note": "", "date": DAY.isoformat()})

    assert answer.headers["Location"] == invoice.get_absolute_url()
    assert list(Payment.objects.values_list("client", "invoice", "amount", "method")) == [
        (invoice.client.pk, invoice.pk, D("50"), "check")
    ]


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"amount": "0"}, {"amount": ["Type a number above 0, such as 120.00."]}),
        ({"amount": "5", "tip": "6"}, {"tip": ["The tip is part of the amount, so it cannot be more."]}),
    ],
)
def test_a_payment_that_cannot_be_is_refused_beside_its_field(browser, typed, errors):
    address = f"/clients/{ClientFactory().pk}/payments/add/"

    answer = browser.post(address, {"date": DAY.isoformat(), "method": "cash"} | typed)

    assert answer.context["form"].errors == errors
    assert not Payment.objects.exists()


@pytest.mark.parametrize(
    ("words", "numbers"), [("ann", ["GF-2026-0001"]), ("0001", ["GF-2026-0001"]), ("zorn", [])]
)
def test_invoices_are_found_by_client_and_number(browser, invoice, words, numbers):
    table = browser.get(f"/invoices/?q={words}").context["table"]

    assert [row.record.number for row in table.rows] == numbers


def test_payments_are_found_by_client_and_invoice(browser, invoice):
    record_payment(invoice.client, DAY, D("50"), "cash", invoice=invoice)
    record_payment(ClientFactory(name="Ben"), DAY, D("20"), "cash")

    found = [browser.get(f"/payments/?q={words}").context["table"].rows for words in ("ben", "0001")]

    assert [[str(row.record.client) for row in rows] for rows in found] == [["Ben"], ["Ann"]]
