"""Payments and what they were before, in the book: out, in, and out again."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from billing.actions.payments import change_payment, delete_payment, record_payment
from billing.models import Payment, PaymentChange
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory
from tests.project.test_book_errors import complaints, put

pytestmark = pytest.mark.django_db
D = Decimal
EVENING = datetime(2026, 10, 14, 19, 5, tzinfo=UTC)
CHANGES = "payment,what,at,by,date,client,amount,method\n"
P1 = "changed,2026-10-21T06:00:00+00:00,ann,2026-10-20,ann,35,cash"


@pytest.fixture
def changed():
    """A payment with a ref that was corrected, and one without that was deleted."""
    ProfileFactory()
    client = ClientFactory(ref="ann")
    invoice = InvoiceFactory(client=client, number="A1")
    payment = record_payment(client, DAY, D(80), "check", invoice=invoice, tip=D(5), note="No 1180")
    Payment.objects.update(ref="p1")
    change_payment(payment, {"amount": D(85), "invoice": None}, by="farrier", at=EVENING)
    gone = record_payment(client, DAY, D(10), "cash")
    delete_payment(gone, by="helper", at=EVENING)
    return gone


def rows_of(folder) -> list[str]:
    return (folder / "payment_changes.csv").read_text(encoding="utf-8").splitlines()[1:]


def test_what_payments_were_is_written_out_with_who_changed_them_and_when(changed, tmp_path):
    export_book(tmp_path / "out")

    assert rows_of(tmp_path / "out") == [
        "p1,changed,2026-10-14T19:05:00+00:00,farrier,2026-10-14,ann,80.00,check,A1,,5.00,,No 1180,no,",
        f"{changed.uuid},deleted,2026-10-14T19:05:00+00:00,helper,2026-10-14,ann,10.00,cash,,,0.00,,,no,",
    ]


def test_what_is_in_the_book_is_known(changed, tmp_path):
    export_book(tmp_path / "out")

    report = import_book(tmp_path / "out")

    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}
    assert (Payment.objects.count(), PaymentChange.objects.count()) == (1, 2)


@pytest.mark.slow
def test_it_comes_back_byte_for_byte(changed, tmp_path, check_it_comes_back):
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (f"p1,{P1}\n", []),
        (f"p7,{P1}\n", ['payment_changes.csv:2: payment: "p7" is not in payments.csv']),
        (f"p7,{P1}\np7,{P1.replace('changed', 'deleted')}\n", []),
        (
            f"p1,{P1.replace('changed', 'lost')}\n",
            ['payment_changes.csv:2: what: "lost" is not one of changed, deleted'],
        ),
    ],
    ids=["of a payment", "of none", "of a deleted one", "no such change"],
)
def test_a_change_names_a_payment_that_is_there_or_was_deleted(tmp_path, rows, expected):
    assert complaints(put(tmp_path / "book", payment_changes_csv=CHANGES + rows)) == expected
