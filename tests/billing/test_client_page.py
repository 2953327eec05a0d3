"""What a client's page says of the account: what is owed, and what payments settled."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.actions.payments import record_payment
from billing.models import Payment
from billing.reports.account_rows import payment_row
from billing.reports.receivable import owes_in_words
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory

D = Decimal


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("billed", "paid", "days", "says"),
    [
        (None, None, 0, "Ann owes nothing."),
        (120, None, -3, "Ann owes $120.00."),
        (120, None, 0, "Ann owes $120.00."),
        (120, 20, 12, "Ann owes $100.00, 12 days overdue."),
        (120, 120, 12, "Ann owes nothing."),
        (120, 150, 12, "Ann owes nothing and has $30.00 in credit."),
    ],
)
def test_the_answer_is_what_is_owed_and_since_when(billed, paid, days, says):
    client = ClientFactory(name="Ann")
    if billed:
        InvoiceFactory(client=client, net=D(billed), issued=DAY - timedelta(60), due=DAY - timedelta(days))
    if paid:
        record_payment(client, DAY - timedelta(1), D(paid), "check")

    assert owes_in_words(client, DAY, Profile()) == says


@pytest.mark.django_db
def test_a_payment_says_what_it_settled_and_what_is_left_of_it():
    client = ClientFactory()
    for number in ("GF-1", "GF-2"):
        InvoiceFactory(client=client, number=number, net=D(50), issued=date(2026, 9, 1))
    record_payment(client, date(2026, 10, 1), D(115), "check", tip=D(5), check_number="1042")

    row = payment_row(Payment.objects.for_list().get(), Profile())

    assert (row.name, row.more) == ("Check 1042", "Oct 1, 2026, for GF-1, GF-2")
    assert (row.fact, row.note) == ("115.00", "tip 5.00, not settled 10.00")


@pytest.mark.django_db
def test_a_long_account_is_shown_in_part_and_leads_to_all_of_it(browser):
    client = ClientFactory(name="Ann & Sons")
    for _ in range(13):
        InvoiceFactory(client=client, net=D(10))
    address = reverse("billing:client-account", args=[client.pk])

    page = browser.get(address).content.decode()

    assert 'href="/invoices/?q=Ann%20%26%20Sons"' in page
    assert "All 13 invoices" in page
    assert browser.get("/invoices/", {"q": "Ann & Sons"}).context["table"].paginator.count == 13
