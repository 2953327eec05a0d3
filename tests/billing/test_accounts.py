"""Where a client's account stands at the end of a day."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.payments import record_payment
from billing.models import AccountDay
from billing.rules.account_rows import Bill, Paid
from billing.rules.accounts import Standing, standings
from billing.rules.settling import settle
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import ClientFactory

D = Decimal
MAY, JUNE, JULY = date(2026, 5, 4), date(2026, 6, 1), date(2026, 7, 9)


def test_what_is_billed_is_open_until_it_is_settled():
    rows = standings([(MAY, D(100))], [(JUNE, D(60))], [(JUNE, D(60))])

    assert rows == [Standing(MAY, D(100), D(0)), Standing(JUNE, D(40), D(0))]


def test_what_is_paid_and_settles_nothing_is_credit():
    rows = standings([(JULY, D(30))], [(MAY, D(50))], [(JULY, D(30))])

    assert rows == [Standing(MAY, D(0), D(50)), Standing(JULY, D(0), D(20))]


def test_a_refund_of_more_than_came_in_leaves_no_credit():
    rows = standings([], [(MAY, D(-20)), (JUNE, D(15))], [])

    assert rows == [Standing(JUNE, D(0), D(15))]


def test_a_day_on_which_nothing_changes_has_no_row():
    assert standings([(MAY, D(100))], [(MAY, D(100))], [(MAY, D(100))]) == []


days = st.integers(1, 9).map(lambda day: date(2026, 5, day))
amounts = st.integers(1, 60).map(D)


@given(
    st.lists(st.tuples(days, amounts), max_size=5),
    st.lists(st.tuples(days, st.one_of(amounts, amounts.map(lambda amount: -amount))), max_size=6),
)
def test_standings_end_where_the_settling_does(bills, payments):
    outcome = settle(
        [Bill(key, f"{key}", day, total) for key, (day, total) in enumerate(bills)],
        [Paid(key, key, day, amount) for key, (day, amount) in enumerate(payments)],
    )

    rows = standings(bills, payments, [(row.date, row.amount) for row in outcome.rows])

    settled = sum((row.amount for row in outcome.rows), D(0))
    last = rows[-1] if rows else Standing(MAY, D(0), D(0))
    assert last.credit == sum(outcome.credit.values(), D(0))
    assert last.open == sum((total for _, total in bills), D(0)) - settled


@pytest.mark.django_db
def test_payments_keep_where_accounts_stand():
    client, other = ClientFactory(), ClientFactory()
    InvoiceFactory(client=client, issued=MAY, net=D(100))
    InvoiceFactory(client=other, issued=MAY, net=D(7))
    record_payment(client, JULY, D(130), "cash", tip=D(10))
    record_payment(client, JUNE, D(40), "cash")

    days = AccountDay.objects.filter(client=client).order_by("date")
    assert list(days.values_list("date", "open", "credit")) == [
        (MAY, D(100), D(0)),
        (JUNE, D(60), D(0)),
        (JULY, D(0), D(60)),
    ]
    assert list(AccountDay.objects.on(date(2026, 6, 30)).values_list("client", "open")) == [
        (client.pk, D(60)),
        (other.pk, D(7)),
    ]
