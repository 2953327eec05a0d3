"""How old what is owed is, and how long clients take to pay. Spans of 30 days: common practice, no source."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.payments import record_payment
from billing.models import Invoice
from billing.reports.ageing import pace_of
from billing.rules.ageing import (
    SPANS,
    BilledAndSettled,
    DaysToPay,
    OpenAmount,
    by_age,
    days_to_pay,
    span_of,
)
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import ClientFactory, ProfileFactory

D = Decimal
DAY = date(2026, 10, 14)


def on(days: int) -> date:
    return DAY + timedelta(days)


@pytest.mark.parametrize(
    ("days", "span"),
    [(-14, 0), (0, 0), (1, 1), (30, 1), (31, 2), (60, 2), (61, 3), (90, 3), (91, 4), (2000, 4)],
)
def test_an_invoice_is_in_the_span_of_its_days_past_due(days, span):
    assert span_of(DAY, on(days)) == span


amounts = st.builds(
    OpenAmount, st.integers(-400, 60).map(on), st.integers(1, 99999).map(lambda n: D(n) / 100)
)


@given(st.lists(amounts))
def test_the_spans_together_are_what_is_owed(owed):
    sums = by_age(owed, DAY)

    assert len(sums) == len(SPANS)
    assert sum(sums) == sum((each.amount for each in owed), D(0))


def settled(*days: int) -> list[BilledAndSettled]:
    return [BilledAndSettled(DAY, D(100), ((on(each), D(100)),)) for each in days]


def test_days_to_pay_are_the_median_from_invoice_to_full_settlement():
    assert days_to_pay(settled(3, 40, 10)) == DaysToPay(D(10), 3)
    assert days_to_pay(settled(3, 10)) == DaysToPay(D("6.5"), 2)


@pytest.mark.parametrize(
    ("paid", "credited", "days"),
    [
        ([(5, 60), (9, 40)], [], 9),  # the last part counts
        ([(5, 60)], [(7, 40)], 7),  # a credit note of the rest
        ([(5, 60)], [], None),  # something is left
        ([], [(7, 100)], None),  # credited, never paid
        ([(-3, 100)], [], 0),  # paid before it was issued
        ([(5, 100), (8, -100), (20, 100)], [], 20),  # a check that bounced
        ([(5, 100), (8, -100)], [], None),
    ],
)
def test_an_invoice_is_settled_on_the_day_since_which_nothing_is_left(paid, credited, days):
    invoice = BilledAndSettled(
        DAY,
        D(100),
        tuple((on(day), D(amount)) for day, amount in paid),
        tuple((on(day), D(amount)) for day, amount in credited),
    )

    assert invoice.days_to_pay == days


def test_without_an_invoice_that_was_paid_there_are_no_days():
    assert days_to_pay([BilledAndSettled(DAY, D(100))]) is None


# In the book


@pytest.fixture
def practice(db, settings):
    settings.TODAY = DAY
    return ProfileFactory()


def an_overdue_book():
    """Ann owes 100 not due yet and 40 since 31 days; Ben 50 since 100 days, after three that he paid."""
    ann, ben = ClientFactory(name="Ann"), ClientFactory(name="Ben")
    InvoiceFactory(client=ann, issued=DAY, due=on(14), net=D(100))
    InvoiceFactory(client=ann, issued=on(-45), due=on(-31), net=D(40))
    for days in (300, 250, 200):
        invoice = InvoiceFactory(client=ben, issued=on(-days), due=on(-days), net=D(10))
        record_payment(ben, on(-days + days // 50), D(10), "cash", invoice=invoice)
    InvoiceFactory(client=ben, issued=on(-114), due=on(-100), net=D(50))
    return ann, ben


def test_the_owed_page_sums_what_is_owed_by_days_past_due(practice, browser):
    an_overdue_book()

    ageing = browser.get("/money/").context["ageing"]

    assert [(row.label, row.amount) for row in ageing.sums] == [
        ("Not due yet", "100.00"),
        ("1–30 days", "0.00"),
        ("31–60 days", "40.00"),
        ("61–90 days", "0.00"),
        ("Over 90 days", "50.00"),
        ("Owed", "190.00"),
    ]
    assert Invoice.objects.all().open_total() == D(190)
    assert ageing.chart.description == "$90.00 of $190.00 is overdue."


def test_what_is_owed_stands_by_client_with_days_to_pay(practice, browser):
    an_overdue_book()

    table = browser.get("/money/").context["ageing"].table

    assert [(row.name, row.cells) for row in (*table.rows, *table.sums)] == [
        ("Ben", ("0.00", "0.00", "0.00", "0.00", "50.00", "50.00", "5 (3)")),
        ("Ann", ("100.00", "0.00", "40.00", "0.00", "0.00", "140.00", "–")),
        ("Total", ("100.00", "0.00", "40.00", "0.00", "50.00", "190.00", "")),
    ]


def test_where_nobody_owes_there_is_no_chart(practice, browser):
    assert browser.get("/money/").context["ageing"] is None


def test_an_account_says_how_long_the_client_takes_to_pay(practice, browser):
    _, ben = an_overdue_book()

    pace = browser.get(f"/clients/{ben.pk}/account/").context["pace"]

    assert pace == "Pays within 5 days, the median of 3 invoices."


def test_days_to_pay_are_of_the_last_two_years(practice):
    client = ClientFactory()
    invoice = InvoiceFactory(client=client, issued=on(-731), due=on(-731), net=D(10))
    record_payment(client, on(-700), D(10), "cash", invoice=invoice)

    assert pace_of([client.pk], DAY) == {}
