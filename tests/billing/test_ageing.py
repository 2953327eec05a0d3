"""How old what is owed is, and how long clients take to pay. Spans of 30 days: common practice, no source."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.ageing import (
    SPANS,
    BilledAndSettled,
    DaysToPay,
    OpenAmount,
    by_age,
    days_to_pay,
    span_of,
)

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
