"""Payments that are corrected or deleted: what they settled, their history, and the days that are closed."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from billing.actions.payments import change_payment, delete_payment, record_payment
from billing.models import AccountDay, Payment, PaymentChange, Settlement
from billing.reports.turnover import received_in
from practice.lib.errors import RuleBroken
from practice.lib.periods import tax_year
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import ClientFactory, ProfileFactory

pytestmark = pytest.mark.django_db
D = Decimal
OCT_20, OCT_25 = date(2026, 10, 20), date(2026, 10, 25)
NOW = {"by": "farrier", "at": datetime(2026, 11, 26, 18, 5, tzinfo=UTC)}


@pytest.fixture
def ann():
    """A client with two invoices of 100, of October 14 and 18."""
    ProfileFactory()
    ann = ClientFactory(name="Ann")
    InvoiceFactory(number="A", client=ann)
    InvoiceFactory(number="B", client=ann, issued=date(2026, 10, 18))
    return ann


def settled():
    rows = Settlement.objects.order_by("date", "pk").select_related("invoice")
    return [(row.invoice.number, row.date.day, row.amount, row.by_hand) for row in rows]


def account(client):
    rows = AccountDay.objects.filter(client=client).order_by("date")
    return [(row.date.day, row.open, row.credit) for row in rows]


def test_a_corrected_amount_settles_anew(ann):
    payment = record_payment(ann, OCT_20, D(250), "check")

    change_payment(payment, {"amount": D(150)}, **NOW)

    assert settled() == [("A", 20, 100, False), ("B", 20, 50, False)]
    assert account(ann) == [(14, 100, 0), (18, 200, 0), (20, 50, 0)]
    assert received_in(tax_year(2026, "US")).sum == 150


def test_another_date_moves_what_it_settled(ann):
    payment = record_payment(ann, OCT_20, D(100), "check")

    change_payment(payment, {"date": OCT_25}, **NOW)

    assert settled() == [("A", 25, 100, False)]
    assert account(ann) == [(14, 100, 0), (18, 200, 0), (25, 100, 0)]


def test_what_a_correction_names_is_chosen_by_hand_and_what_it_no_longer_names_is_not(ann):
    payment = record_payment(ann, OCT_20, D(100), "check")
    change_payment(payment, {"invoice": ann.invoices.get(number="B")}, **NOW)
    named = settled()

    change_payment(payment, {"invoice": None}, **NOW)

    assert (named, settled()) == ([("B", 20, 100, True)], [("A", 20, 100, False)])


def test_what_an_import_chose_by_hand_stays_chosen_up_to_the_corrected_amount(ann):
    payment = record_payment(ann, OCT_20, D(100), "check")
    payment.settlements.update(invoice=ann.invoices.get(number="B"), by_hand=True)

    change_payment(payment, {"amount": D(80), "date": OCT_25}, **NOW)

    assert settled() == [("B", 25, 80, True)]


def test_a_deleted_payment_leaves_its_invoices_open(ann):
    payment = record_payment(ann, OCT_20, D(250), "check")
    record_payment(ann, OCT_25, D(-30), "check")

    delete_payment(payment, **NOW)

    assert list(Payment.objects.values_list("amount", flat=True)) == [-30]
    assert settled() == []
    assert account(ann) == [(14, 100, 0), (18, 200, 0)]


def test_a_deleted_refund_settles_again_what_it_reopened(ann):
    record_payment(ann, OCT_20, D(200), "check")
    bounced = record_payment(ann, OCT_25, D(-100), "check", invoice=ann.invoices.get(number="A"))
    before = settled()

    delete_payment(bounced, **NOW)

    assert before[-1] == ("A", 25, -100, True)
    assert settled() == [("A", 20, 100, False), ("B", 20, 100, False)]


def test_the_history_keeps_what_a_payment_was_who_changed_it_and_when(ann):
    payment = record_payment(ann, OCT_20, D(100), "check", tip=D(5), note="No 1180")
    change_payment(payment, {"amount": D(90), "tip": D(0)}, **NOW)
    change_payment(payment, {"amount": D(90)}, **NOW)
    delete_payment(payment, **NOW)

    rows = PaymentChange.objects.order_by("pk")

    assert [(row.what, row.date, row.amount, row.tip, row.note, row.by, row.at) for row in rows] == [
        ("changed", OCT_20, 100, 5, "No 1180", "farrier", NOW["at"]),
        ("deleted", OCT_20, 90, 0, "No 1180", "farrier", NOW["at"]),
    ]
    assert {row.payment for row in rows} == {str(payment.uuid)}


@pytest.mark.parametrize(
    ("closed", "values", "code"),
    [
        (OCT_20, {"amount": D(90)}, "day_closed"),
        (OCT_20, {"date": OCT_25}, "day_closed"),
        (date(2026, 10, 19), {"date": date(2026, 10, 19)}, "day_closed"),
        (None, {"amount": D(0)}, "amount_zero"),
        (None, {"amount": D("90.005")}, "amount_too_fine"),
        (None, {"tip": D(101)}, "tip_out_of_range"),
    ],
)
def test_a_correction_is_refused_by_code_and_nothing_changes(ann, closed, values, code):
    payment = record_payment(ann, OCT_20, D(100), "check")
    Profile.objects.update(closed_through=closed)
    before = Payment.objects.values().get()

    with pytest.raises(RuleBroken) as refused:
        change_payment(payment, values, **NOW)

    assert refused.value.code == code
    assert (Payment.objects.values().get(), PaymentChange.objects.count()) == (before, 0)


def test_a_payment_cannot_name_the_invoice_of_another_client(ann):
    payment, other = record_payment(ann, OCT_20, D(100), "check"), InvoiceFactory(number="C")

    with pytest.raises(RuleBroken) as refused:
        change_payment(payment, {"invoice": other}, **NOW)

    assert refused.value.code == "invoice_of_another_client"
    assert (Payment.objects.get().invoice, settled()) == (None, [("A", 20, 100, False)])


def test_a_payment_of_a_closed_day_is_not_deleted(ann):
    payment = record_payment(ann, OCT_20, D(100), "check")
    Profile.objects.update(closed_through=OCT_20)

    with pytest.raises(RuleBroken) as refused:
        delete_payment(payment, **NOW)

    assert refused.value.code == "day_closed"
    assert (settled(), PaymentChange.objects.count()) == ([("A", 20, 100, False)], 0)


def test_what_is_deleted_cannot_be_changed_or_deleted_again(ann):
    payment = record_payment(ann, OCT_20, D(100), "check")
    delete_payment(Payment.objects.get(), **NOW)

    codes = []
    for action in (
        lambda: change_payment(payment, {"amount": D(9)}, **NOW),
        lambda: delete_payment(payment, **NOW),
    ):
        with pytest.raises(RuleBroken) as refused:
            action()
        codes.append(refused.value.code)

    assert (codes, PaymentChange.objects.count()) == (["payment_deleted"] * 2, 1)


def test_a_form_sent_again_does_not_bring_a_deleted_payment_back(ann):
    payment = record_payment(ann, OCT_20, D(100), "check")
    delete_payment(payment, **NOW)

    with pytest.raises(RuleBroken) as refused:
        record_payment(ann, OCT_20, D(100), "check", uuid=payment.uuid)

    assert (refused.value.code, Payment.objects.count()) == ("payment_deleted", 0)


@pytest.mark.parametrize("change", [lambda rows: rows.update(note="x"), lambda rows: rows.delete()])
def test_the_database_refuses_to_change_the_history(ann, change):
    delete_payment(record_payment(ann, OCT_20, D(100), "check"), **NOW)

    with pytest.raises(DatabaseError), transaction.atomic():
        change(PaymentChange.objects.all())

    assert PaymentChange.objects.get().note == ""
