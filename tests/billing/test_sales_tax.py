"""Sales tax by area, name and rate. Worked by hand."""

import json
from datetime import date
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice, TaxRate
from billing.reports.sales_tax import sales_tax
from billing.reports.year.income import income_in
from practice.lib.periods import Period, months_of, tax_year
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import (
    ClientFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)

pytestmark = pytest.mark.django_db
D = Decimal
MAY, JUNE = date(2026, 5, 4), date(2026, 6, 2)
SPRING = Period(date(2026, 5, 1), date(2026, 5, 31))
SUMMER = Period(date(2026, 6, 1), date(2026, 8, 31))


@pytest.fixture
def practice():
    """State 5 % everywhere, county 1.25 % in Tarn."""
    TaxRate.objects.create(name="State", valid_from=date(2015, 1, 1), rate=5)
    TaxRate.objects.create(name="County", valid_from=date(2015, 1, 1), rate=D("1.25"), area="Tarn")
    return ProfileFactory()


def bill(price, area="", on=MAY, **client) -> Invoice:
    """Return the invoice of one taxed work."""
    horse = owned_horse(ClientFactory(**client))
    visit = VisitFactory(date=on, status="done", place=PlaceFactory(area=area))
    WorkFactory(visit=visit, horse=horse, service=ServiceFactory(taxable=True), price=D(price))
    [invoice] = close_days(on, on, on).invoices
    return invoice


def rows(period, profile):
    """Return (area, name, rate, what was invoiced, what was received), each taxable, exempt and tax."""
    return [
        (
            row.area,
            row.name,
            row.rate,
            shown(row.invoiced),
            shown(row.received),
        )
        for row in sales_tax(period, profile).rows
    ]


def shown(rated):
    return tuple(f"{value:.2f}" for value in (rated.taxable, rated.exempt, rated.tax))


NOTHING = ("0.00", "0.00", "0.00")


def test_what_is_invoiced_stands_by_area_name_and_rate(practice):
    """50.00 in Tarn: 6.25 % is 3.125, 3.13, split 2.50 and 0.63; 100.00 elsewhere: 5.00."""
    bill("50", area="Tarn")
    bill("100")
    bill("999", on=JUNE)

    assert rows(SPRING, practice) == [
        ("", "State", D(5), ("150.00", "0.00", "7.50"), NOTHING),
        ("Tarn", "County", D("1.25"), ("50.00", "0.00", "0.63"), NOTHING),
    ]


def test_what_is_received_follows_what_is_settled(practice):
    """53.13 is paid by 26.56 in May and the rest in June: tax 1.56 (1.565 less what 26.565 would be)."""
    invoice = bill("50", area="Tarn")
    record_payment(invoice.client, MAY, D("26.56"), "cash")
    record_payment(invoice.client, JUNE, D("26.57"), "cash")

    assert rows(SPRING, practice) == [
        ("", "State", D(5), ("50.00", "0.00", "2.50"), ("25.00", "0.00", "1.25")),
        ("Tarn", "County", D("1.25"), ("50.00", "0.00", "0.63"), ("25.00", "0.00", "0.31")),
    ]
    assert rows(SUMMER, practice) == [
        ("", "State", D(5), NOTHING, ("25.00", "0.00", "1.25")),
        ("Tarn", "County", D("1.25"), NOTHING, ("25.00", "0.00", "0.32")),
    ]


def test_what_is_received_adds_up_to_the_tax_collected(practice):
    for price, paid in (("33.33", "20"), ("71.99", "71.99"), ("18.05", "100")):
        record_payment(bill(price, area="Tarn").client, MAY, D(paid), "cash")
    year = tax_year(2026, "US")

    found = sales_tax(year, practice)

    assert found.collected == income_in(year, months_of(year), "USD").tax
    assert found.charged == sum(Invoice.objects.values_list("tax", flat=True))


def test_an_exempt_client_is_shown_as_exempt(practice):
    invoice = bill("80", tax_exempt=True)
    record_payment(invoice.client, MAY, D(20), "cash")

    assert rows(SPRING, practice) == [
        ("", "State", D(5), ("0.00", "80.00", "0.00"), ("0.00", "20.00", "0.00"))
    ]


def test_an_invoice_of_before_has_no_area(practice):
    invoice = InvoiceFactory(issued=MAY, net=D(100), tax=D(6))
    InvoiceFactory(issued=MAY, net=D(40))
    record_payment(invoice.client, MAY, D(53), "cash")

    assert rows(SPRING, practice) == [("", "", None, ("100.00", "0.00", "6.00"), ("50.00", "0.00", "3.00"))]


def test_publication_583_by_rate(practice):
    """IRS Publication 583: 263.60 and 4.20 of tax; only its tax is known."""
    invoice = InvoiceFactory(issued=MAY, net=D("263.60"), tax=D("4.20"))
    record_payment(invoice.client, MAY, D("267.80"), "cash")

    found = sales_tax(SPRING, practice)

    assert (found.charged, found.collected) == (D("4.20"), D("4.20"))


def test_the_command_prints_the_contract(practice, capsys):
    bill("100")

    call_command("sales_tax", "--from", "2026-05-01", "--to", "2026-05-31", "--json")

    assert json.loads(capsys.readouterr().out) == {
        "from": "2026-05-01",
        "to": "2026-05-31",
        "areas": [
            {
                "area": "",
                "name": "State",
                "rate": "5",
                "invoiced": {"taxable": "100.00", "exempt": "0.00", "tax": "5.00"},
                "received": {"taxable": "0.00", "exempt": "0.00", "tax": "0.00"},
            }
        ],
    }


def test_the_command_says_it_in_words(practice, capsys):
    bill("100")

    call_command("sales_tax", "--from", "2026-05-01", "--to", "2026-05-31")

    assert capsys.readouterr().out.splitlines() == [
        "State, 5%",
        "  invoiced: taxable 100.00, exempt 0.00, tax 5.00",
        "  received: taxable 0.00, exempt 0.00, tax 0.00",
        "Tax invoiced 5.00, received 0.00. Rules change. A licensed tax preparer decides.",
    ]


def test_days_that_end_before_they_begin_are_refused(practice):
    with pytest.raises(CommandError, match="--to is before --from") as refused:
        call_command("sales_tax", "--from", "2026-05-31", "--to", "2026-05-01")

    assert refused.value.returncode == 2
