"""What came in and was billed in a year. Worked by hand."""

from datetime import date
from decimal import Decimal

import pytest

from billing.actions.payments import record_payment
from billing.reports.year.by_time import quarters_in
from billing.reports.year.income import accounts_on, income_in, invoiced_in
from billing.reports.year_end import year_end
from practice.lib.periods import months_of, tax_year
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import ClientFactory, ProfileFactory

pytestmark = pytest.mark.django_db
D = Decimal
YEAR = tax_year(2026, "US")


@pytest.fixture(autouse=True)
def practice():
    ProfileFactory()


def income(year=YEAR):
    return income_in(year, months_of(year), "USD")


def year_of(**months):
    """Return twelve amounts, 0 but for the months named."""
    names = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
    return tuple(D(months.get(name, 0)) for name in names)


def test_payments_are_received_on_their_day_with_tips_and_less_refunds():
    client = ClientFactory()
    record_payment(client, date(2025, 12, 31), D(1000), "cash")
    record_payment(client, date(2026, 1, 1), D(70), "cash", tip=D(5))
    record_payment(client, date(2026, 3, 9), D(-20), "check")
    record_payment(client, date(2026, 12, 31), D(11), "card")
    record_payment(client, date(2027, 1, 1), D(1000), "cash")

    found = income()

    assert (found.total, found.refunds, found.tips) == (D(61), D(20), D(5))
    assert found.by_month == year_of(jan=70, mar=-20, dec=11)
    quarters = quarters_in(year_end(2026, Profile.current(), date(2027, 2, 1)))
    assert [row.received for row in quarters] == [D(50), D(0), D(0), D(11)]


def test_the_tax_in_what_settled_is_neither_income_nor_expense():
    """IRS Publication 583: cash sales 263.60 + sales tax 4.20 = 267.80."""
    client = ClientFactory()
    InvoiceFactory(client=client, issued=date(2026, 5, 4), net=D("263.60"), tax=D("4.20"))
    record_payment(client, date(2026, 5, 4), D("267.80"), "cash")

    found = income()

    assert (found.total, found.tax, found.net_of_tax) == (D("267.80"), D("4.20"), D("263.60"))
    assert found.tax_by_month == year_of(may="4.20")


def test_credit_not_yet_used_is_received_and_its_tax_comes_when_it_settles():
    """106.00 is paid in December; the invoice of January, 100.00 and 6.00 tax, takes it in the next year."""
    client = ClientFactory()
    record_payment(client, date(2026, 12, 20), D(106), "check")
    InvoiceFactory(client=client, issued=date(2027, 1, 8), net=D(100), tax=D(6))

    this, after = income(), income(tax_year(2027, "US"))

    assert (this.total, this.net_of_tax) == (D(106), D(106))
    assert (after.total, after.net_of_tax) == (D(0), D(-6))
    assert accounts_on(YEAR.end).credit == D(106)


def test_what_was_settled_in_the_year_before_gave_its_tax_then():
    """Half in each year: 100.00 and 0.05 tax, of which 50.00 has 0.02 (0.02499) and the rest 0.03."""
    client = ClientFactory()
    InvoiceFactory(client=client, issued=date(2025, 12, 20), net=D(100), tax=D("0.05"))
    record_payment(client, date(2025, 12, 28), D("50.00"), "cash")
    record_payment(client, date(2026, 1, 3), D("50.05"), "cash")

    assert income(tax_year(2025, "US")).tax == D("0.02")
    assert income().tax == D("0.03")


def test_a_bounced_check_takes_back_what_it_brought():
    client = ClientFactory()
    invoice = InvoiceFactory(client=client, issued=date(2026, 2, 2), net=D(100), tax=D(6))
    record_payment(client, date(2026, 2, 2), D(106), "check", invoice=invoice)
    record_payment(client, date(2026, 2, 9), D(-106), "check", invoice=invoice)

    found = income()

    assert (found.total, found.refunds, found.tax, found.net_of_tax) == (D(0), D(106), D(0), D(0))
    assert accounts_on(YEAR.end).receivable == D(106)


def test_invoices_count_by_their_date():
    InvoiceFactory(issued=date(2025, 12, 31), net=D(9))
    InvoiceFactory(issued=date(2026, 1, 1), net=D(100), tax=D(6))
    InvoiceFactory(issued=date(2026, 8, 1), net=D(50))
    InvoiceFactory(issued=date(2027, 1, 1), net=D(9))

    found = invoiced_in(YEAR, months_of(YEAR))

    assert (found.net, found.tax, found.total) == (D(150), D(6), D(156))
    assert found.by_month == year_of(jan=106, aug=50)


def test_owed_and_credit_are_those_of_the_last_day():
    client, other = ClientFactory(), ClientFactory()
    InvoiceFactory(client=client, issued=date(2026, 11, 1), net=D(100))
    InvoiceFactory(client=client, issued=date(2027, 1, 2), net=D(40))
    record_payment(client, date(2027, 1, 3), D(140), "cash")
    record_payment(other, date(2026, 12, 31), D(25), "cash")

    found = accounts_on(YEAR.end)

    assert [(row.client, row.open, row.credit) for row in found.rows] == [
        (client, D(100), D(0)),
        (other, D(0), D(25)),
    ]
    assert (found.receivable, found.credit) == (D(100), D(25))


def test_a_british_month_runs_from_the_sixth_to_the_fifth():
    client, year = ClientFactory(), tax_year(2026, "GB")
    record_payment(client, date(2026, 4, 5), D(1), "cash")
    record_payment(client, date(2026, 4, 6), D(10), "cash")
    record_payment(client, date(2026, 5, 5), D(20), "cash")
    record_payment(client, date(2026, 5, 6), D(30), "cash")
    record_payment(client, date(2027, 4, 5), D(40), "cash")

    months = income(year).by_month

    assert (months[0], months[1], months[11], sum(months)) == (D(30), D(30), D(40), D(100))
