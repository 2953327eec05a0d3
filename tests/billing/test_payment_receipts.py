"""The receipt of a payment: what it says, as PDF, on the phone, and by mail."""

import io
from datetime import timedelta
from decimal import Decimal

import pytest
from pypdf import PdfReader

from billing.actions.bouncing import bounce_check
from billing.actions.payments import record_payment
from billing.models import Message
from billing.papers.payment_receipt import PaidRow, receipt_of, reference_of
from billing.papers.receipt_messages import RECEIPT
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import MailSettingsFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def practice(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    return ProfileFactory()


@pytest.fixture
def ann():
    """A client with two invoices of 100."""
    ann = ClientFactory(name="Ann", email="ann@barn.example", phone="555-0116")
    InvoiceFactory(number="A", client=ann, issued=DAY - timedelta(2))
    InvoiceFactory(number="B", client=ann, issued=DAY - timedelta(1))
    return ann


def rows_of(payment):
    return [(row.name, row.detail, row.amount) for row in receipt_of(payment).rows]


def test_a_receipt_says_what_was_paid_what_is_left_and_how(ann):
    payment = record_payment(ann, DAY, D(150), "check", tip=D(10), check_number="1042")

    receipt = receipt_of(payment)

    assert receipt.rows == [
        PaidRow("Invoice A", "October 12, 2026, paid in full", "100.00"),
        PaidRow("Invoice B", "October 13, 2026, 60.00 left", "40.00"),
        PaidRow("Tip", "", "10.00"),
    ]
    assert (receipt.title, receipt.date) == (f"Receipt {receipt.reference}", "October 14, 2026")
    assert receipt.method == "Check 1042"
    assert (receipt.amount, receipt.still_owed) == ("$150.00", "$60.00")


def test_what_is_left_of_it_is_credit(ann):
    payment = record_payment(ann, DAY, D(230), "cash")

    assert rows_of(payment)[2:] == [("Credit not used yet", "", "30.00")]
    assert receipt_of(payment).still_owed == ""


def test_a_refund_has_a_receipt_of_its_own_with_amounts_above_zero(ann):
    record_payment(ann, DAY, D(220), "check")
    receipt = receipt_of(record_payment(ann, DAY, D(-90), "check"))

    assert (receipt.title, receipt.amount) == (f"Refund receipt {receipt.reference}", "$90.00")
    assert [(row.name, row.amount) for row in receipt.rows] == [
        ("Invoice B", "70.00"),
        ("From credit", "20.00"),
    ]


def test_a_receipt_is_called_by_the_payments_ref_else_by_its_uuid(ann):
    payment = record_payment(ann, DAY, D(5), "cash")
    short = str(payment.uuid)[:8].upper()

    assert reference_of(payment) == short
    payment.ref = str(payment.uuid)  # as an import writes what had none
    assert reference_of(payment) == short
    payment.ref = "R-17"
    assert reference_of(payment) == "R-17"


def test_a_bounced_check_has_no_receipt(browser, ann):
    bounce = bounce_check(record_payment(ann, DAY, D(100), "check"), DAY)

    assert [browser.get(f"{bounce.receipt_url}{end}").status_code for end in ("", "pdf/", "send/")] == [
        404
    ] * 3
    assert bounce.receipt_url not in browser.get(bounce.get_absolute_url()).content.decode()


def test_the_pdf_says_it_all(browser, ann):
    payment = record_payment(ann, DAY, D(150), "check", check_number="1042")

    answer = browser.get(f"{payment.receipt_url}pdf/")

    [sheet] = PdfReader(io.BytesIO(answer.content)).pages
    text = " ".join(sheet.extract_text().split())
    for words in (f"Receipt {reference_of(payment)}", "Check 1042", "$150.00", "Invoice A", "50.00 left"):
        assert words in text
    assert f"receipt-2026-10-14-{reference_of(payment)}.pdf" in answer["Content-Disposition"]


def test_a_receipt_is_sent_from_its_page_with_its_pdf(browser, ann):
    MailSettingsFactory()
    payment = record_payment(ann, DAY, D(150), "check", check_number="1042")
    page = browser.get(f"{payment.receipt_url}send/").context

    browser.post(f"{payment.receipt_url}send/", page["form"].initial)

    message = Message.objects.get()
    assert page["heading"] == f"Send receipt {reference_of(payment)}"
    assert (message.kind, message.about, message.to) == ("receipt", payment.key, "ann@barn.example")
    assert "your receipt for $150.00, check 1042, dated October 14, 2026" in message.text
    [enclosed] = RECEIPT.enclosures(RECEIPT.find(message.about))
    assert (enclosed.name, enclosed.content[:5]) == (page["papers"][0], b"%PDF-")


def test_the_phones_messenger_gets_it_in_one_line(ann):
    payment = record_payment(ann, DAY, D(150), "cash")

    assert RECEIPT.short(payment, Profile.current()) == (
        f"Receipt {reference_of(payment)}: $150.00, cash, October 14, 2026."
        f" Invoice A: 100.00; Invoice B: 50.00. $50.00 is still open. {Profile.current().name}"
    )
