"""Any order of what happens to a client's account: nothing is lost, nothing is settled twice."""

import itertools
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from billing.actions.accounts import add_to_quiet_accounts, quiet_accounts
from billing.actions.bouncing import bounce_check
from billing.actions.crediting import issue_credit_note
from billing.actions.payments import change_payment, delete_payment, record_payment
from billing.actions.settling import account_of, resettle_client
from billing.models import AccountDay, CreditNote, Invoice, Payment, Settlement
from practice.lib.errors import RuleBroken
from practice.models import Client
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory

pytestmark = pytest.mark.django_db
D = Decimal
ZERO = D(0)
NOW = {"by": "farrier", "at": datetime(2026, 10, 30, 18, 5, tzinfo=UTC)}
FEW = settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture])
MANY = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])

days = st.integers(0, 9).map(lambda number: DAY + timedelta(number))
amounts = st.integers(1, 240).map(D)
which = st.integers(0, 5)  # of the invoices, or the payments, that there are
happenings = st.lists(
    st.one_of(
        st.tuples(st.just("issue"), days, amounts),
        st.tuples(st.just("pay"), days, amounts, st.sampled_from([0, 0, 1, 7]), st.sets(which, max_size=3)),
        st.tuples(st.just("refund"), days, amounts, st.none() | which),
        st.tuples(st.just("bounce"), days, which),
        st.tuples(st.just("credit"), days, which, amounts),
        st.tuples(st.just("correct"), which, days, amounts, st.none() | st.sets(which, max_size=3)),
        st.tuples(st.just("delete"), which),
    ),
    min_size=3,
    max_size=14,
)


@dataclass
class Ledger:
    """A client with what happened so far; what a rule forbids does not happen."""

    client: Client
    numbers: itertools.count = field(default_factory=itertools.count)

    def happen(self, what: str, *facts) -> None:
        try:
            with transaction.atomic():
                getattr(self, what)(*facts)
        except RuleBroken:
            pass

    def invoices(self, picked) -> list[Invoice]:
        rows = list(Invoice.objects.order_by("pk"))
        return (
            list({rows[each % len(rows)].pk: rows[each % len(rows)] for each in picked}.values())
            if rows
            else []
        )

    def a_payment(self, which: int) -> Payment:
        rows = list(Payment.objects.order_by("pk"))
        if not rows:
            raise RuleBroken("none", "There is no payment.")
        return rows[which % len(rows)]

    def issue(self, on, total):
        InvoiceFactory(client=self.client, number=f"N-{next(self.numbers):02d}", issued=on, net=total)

    def pay(self, on, amount, tip, picked):
        record_payment(self.client, on, amount, "check", tip=D(tip), invoices=self.invoices(picked))

    def refund(self, on, amount, picked):
        [invoice] = self.invoices([] if picked is None else [picked]) or [None]
        record_payment(self.client, on, -amount, "cash", invoice=invoice)

    def bounce(self, on, which):
        bounce_check(self.a_payment(which), on)

    def credit(self, on, which, amount):
        for invoice in self.invoices([which]):
            issue_credit_note(invoice, on, {1: amount}, reason="goodwill")

    def correct(self, which, on, amount, picked):
        payment = self.a_payment(which)
        values = {"date": on, "amount": amount if payment.amount > 0 else -amount}
        values |= {} if picked is None else {"invoices": self.invoices(picked)}
        change_payment(payment, values, **NOW)

    def delete(self, which):
        delete_payment(self.a_payment(which), **NOW)


def settled_rows() -> list[tuple]:
    rows = Settlement.objects.values_list(
        "payment__date", "payment__uuid", "invoice__number", "amount", "by_hand"
    )
    return sorted(
        (*row, on) for row, on in zip(rows, Settlement.objects.values_list("date", flat=True), strict=True)
    )


def check_account(client: Client) -> None:
    """The account adds up; no invoice and no payment gives more than it has; a second look finds the same."""
    invoices, payments = list(client.invoices.with_settled()), list(client.payments.all())
    outcome = account_of(client)
    billed = sum((row.total for row in invoices), ZERO)
    credited = sum(CreditNote.objects.values_list("total", flat=True), ZERO)
    paid = sum((row.amount - row.tip for row in payments), ZERO)
    open_ = sum((row.open for row in invoices), ZERO)
    assert open_ - sum(outcome.credit.values(), ZERO) + outcome.uncovered == billed - credited - paid
    assert all(row.settled >= 0 and row.open >= 0 for row in invoices)
    for row in payments:
        settled = sum(row.settlements.values_list("amount", flat=True), ZERO)
        low, high = sorted([ZERO, row.amount - row.tip])
        assert low <= settled <= high
    before = settled_rows()
    resettle_client(client)
    assert settled_rows() == before


@MANY
@given(happened=happenings)
def test_whatever_happens_the_account_adds_up(happened):
    with transaction.atomic():
        ledger = Ledger(ClientFactory())
        ProfileFactory()
        for each in happened:
            ledger.happen(*each)
            check_account(ledger.client)
        transaction.set_rollback(True)


@MANY
@given(happened=happenings, on=days)
def test_an_invoice_of_a_quiet_account_changes_nothing_else(happened, on):
    with transaction.atomic():
        ledger = Ledger(ClientFactory())
        ProfileFactory()
        for each in happened:
            ledger.happen(*each)
        resettle_client(ledger.client)
        quiet = quiet_accounts([ledger.client.pk], on, [])
        event(f"quiet: {bool(quiet)}")
        if quiet:
            invoice = InvoiceFactory.build(client=ledger.client, number="N-99", issued=on, net=D(60))
            invoice.save()
            add_to_quiet_accounts([invoice], quiet)
            before = settled_rows(), account_days()
            resettle_client(ledger.client)
            assert (settled_rows(), account_days()) == before
        transaction.set_rollback(True)


def account_days() -> list[tuple]:
    return list(AccountDay.objects.order_by("date").values_list("date", "open", "credit"))


@pytest.mark.slow
@FEW
@given(happened=happenings)
def test_whatever_happened_the_book_comes_back_the_same(tmp_path_factory, happened):
    folder, again = (tmp_path_factory.mktemp("book") / name for name in ("out", "again"))
    with transaction.atomic():
        ledger = Ledger(ClientFactory())
        ProfileFactory()
        for each in happened:
            ledger.happen(*each)
        export_book(folder)
        transaction.set_rollback(True)

    with transaction.atomic():
        report = import_book(folder)
        export_book(again)
        transaction.set_rollback(True)

    assert report.problems == []
    assert {path.name: path.read_bytes() for path in again.iterdir()} == {
        path.name: path.read_bytes() for path in folder.iterdir()
    }
