"""How much tax is in what was received. Worked by hand."""

from datetime import date
from decimal import Decimal

from billing.rules.taxed import BilledTax, RateTax, TaxReceived, received

D = Decimal
MAY, JUNE, JULY = date(2026, 5, 4), date(2026, 6, 1), date(2026, 7, 9)


def rated(name, rate, taxable, tax, exempt="0", area=""):
    return RateTax(area, name, D(rate), D(taxable), D(exempt), D(tax))


def test_a_sale_paid_at_once_gives_its_tax():
    """IRS Publication 583: cash sales 263.60 and sales tax 4.20 make 267.80; the tax is not income."""
    sale = BilledTax(MAY, D("4.20"), D("267.80"))

    [row] = received([sale], [(MAY, D("267.80"))], "USD")

    assert row == TaxReceived(MAY, D("4.20"))


def test_parts_give_the_tax_so_far_less_what_the_parts_before_gave():
    """A third each of 100.00 with 1.00 tax: 0.33, 0.67 so far, 1.00."""
    sale = BilledTax(MAY, D("1.00"), D("100.00"))
    thirds = [(MAY, D("33.33")), (JUNE, D("33.33")), (JULY, D("33.34"))]

    rows = received([sale], thirds, "USD")

    assert [row.tax for row in rows] == [D("0.33"), D("0.34"), D("0.33")]


def test_a_refund_takes_its_tax_back():
    sale = BilledTax(MAY, D("6.00"), D("106.00"))

    rows = received([sale], [(MAY, D("106.00")), (JUNE, D("-53.00"))], "USD")

    assert rows == [TaxReceived(MAY, D("6.00")), TaxReceived(JUNE, D("-3.00"))]


def test_settlements_of_one_day_are_one():
    """0.125 and 0.125 would each round up: together they are 0.25."""
    sale = BilledTax(MAY, D("1.00"), D("8.00"))

    assert received([sale], [(MAY, D("1.00")), (MAY, D("1.00"))], "USD") == [TaxReceived(MAY, D("0.25"))]


def test_a_credit_note_changes_the_tax_from_its_day_on():
    """Half of 100 + 10 is settled (tax 5), then 55 is credited: what was settled is all of what is left.

    Nothing is settled on the day of the credit note itself.
    """
    sale = BilledTax(MAY, D("10.00"), D("110.00"))
    credited = BilledTax(JUNE, D("4.00"), D("55.00"))

    rows = received([sale, credited], [(MAY, D("55.00"))], "USD")

    assert [(row.date, row.tax) for row in rows] == [(MAY, D("5.00")), (JUNE, D("-1.00"))]


def test_an_invoice_credited_to_nothing_has_no_tax():
    sale = BilledTax(MAY, D("10.00"), D("110.00"))
    nothing = BilledTax(JUNE, D(0), D(0))

    rows = received([sale, nothing], [(MAY, D("110.00")), (JUNE, D("-110.00"))], "USD")

    assert [row.tax for row in rows] == [D("10.00"), D("-10.00")]


def test_tax_is_split_among_the_rates_by_their_tax_and_nets_follow_what_is_settled():
    """State 5 % of 50.00 and county 1.25 % of it: 2.50 + 0.63; half of 103.13 is settled, then the rest."""
    rates = (rated("State", "5", "50.00", "2.50"), rated("County", "1.25", "50.00", "0.63", area="Tarn"))
    sale = BilledTax(MAY, D("3.13"), D("103.13"), rates)

    first, second = received([sale], [(MAY, D("51.56")), (JUNE, D("51.57"))], "USD")

    assert first == TaxReceived(
        MAY,
        D("1.56"),
        (rated("State", "5", "25.00", "1.25"), rated("County", "1.25", "25.00", "0.31", area="Tarn")),
    )
    assert second == TaxReceived(
        JUNE,
        D("1.57"),
        (rated("State", "5", "25.00", "1.25"), rated("County", "1.25", "25.00", "0.32", area="Tarn")),
    )


def test_exempt_nets_are_received_without_tax():
    sale = BilledTax(MAY, D(0), D("80.00"), (rated("State", "5", "0", "0", exempt="80.00"),))

    [row] = received([sale], [(JUNE, D("20.00"))], "USD")

    assert row == TaxReceived(JUNE, D(0), (rated("State", "5", "0", "0", exempt="20.00"),))
