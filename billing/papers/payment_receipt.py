"""What the receipt of a payment shows, on paper, on a page and in a text: plain values in words."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from billing.actions.settling import account_of
from billing.models import Invoice, Payment
from billing.papers.client_words import ClientWords
from billing.papers.letter import ClientLetter, ClosingSum
from billing.reports.payment_page import rest_of
from practice.lib import formats
from practice.lib.letterhead import letterhead
from practice.lib.pdf import render_pdf
from practice.lib.profile import Profile

ZERO = Decimal(0)


@dataclass(frozen=True)
class PaidRow:
    """What a part of a payment was for: `Invoice GF-2026-0187`, `October 14, 2026, 40.00 left`."""

    name: str
    detail: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class PaymentReceipt(ClientLetter):
    """A receipt as it is printed. Its `rows` add up to `amount`."""

    reference: str
    date: str
    method: str
    visit: str
    rows: list[PaidRow]
    amount: str
    is_refund: bool
    still_owed: str

    @property
    def title(self) -> str:
        return f"{'Refund receipt' if self.is_refund else 'Receipt'} {self.reference}"

    @property
    def facts(self) -> list[tuple[str, str]]:
        rows = [("Date", self.date), ("Paid by", self.method), ("Visit", self.visit)]
        return [(label, words) for label, words in rows if words]

    @property
    def figure(self) -> str:
        return self.amount

    @property
    def rows_label(self) -> str:
        """What stands above the rows."""
        return "Taken from" if self.is_refund else "Paid for"

    @property
    def comes(self) -> list[ClosingSum]:
        rows = [ClosingSum("Refunded" if self.is_refund else "Received", self.amount, "due")]
        if self.still_owed:
            rows.append(ClosingSum("Still open on all invoices", self.still_owed))
        return rows


def reference_of(payment: Payment) -> str:
    """Return what a receipt is called by: the payment's own ref, else the first part of its UUID."""
    try:
        return str(UUID(payment.key)).partition("-")[0].upper()
    except ValueError:
        return payment.key


def receipt_of(payment: Payment, for_practice: bool = False) -> PaymentReceipt:
    """Return the receipt of a payment or a refund as the book stands, in the client's language.

    `for_practice`: in the practice's own.
    """
    profile, client = Profile.current(), payment.client
    words = ClientWords(payment, profile, for_practice)
    owed = client.invoices.all().open_total()
    is_refund = payment.amount < 0
    visit = payment.visit and formats.long_date(payment.visit.date, words.locale)
    return PaymentReceipt(
        **letterhead(profile, words.locale),
        heading="Refunded" if is_refund else "Received with thanks",
        reference=reference_of(payment),
        client_name=client.name,
        client_address=client.address,
        date=formats.long_date(payment.date, words.locale),
        method=payment.how.capitalize(),
        visit=f"{payment.visit.place}, {visit}" if visit else "",
        rows=paid_rows(payment, words),
        amount=words.money(abs(payment.amount)),
        is_refund=is_refund,
        still_owed=words.money(owed) if owed > 0 else "",
    )


def paid_rows(payment: Payment, words: ClientWords) -> list[PaidRow]:
    """Return what a payment was for: its invoices by date, its tip, and what is left of it as credit."""
    sign = -1 if payment.amount < 0 else 1
    settled: dict[int, Decimal] = defaultdict(Decimal)
    for row in payment.settlements.all():
        settled[row.invoice_id] += row.amount
    invoices = Invoice.objects.with_settled().filter(pk__in=settled).order_by("issued", "number")
    rows = [
        PaidRow(
            f"Invoice {invoice.number}", state_of(invoice, words), words.amount(sign * settled[invoice.pk])
        )
        for invoice in invoices
        if settled[invoice.pk]
    ]
    rest = rest_of(payment, sum(settled.values(), ZERO), account_of(payment.client))
    rows += [PaidRow(part.label, "", words.amount(sign * part.amount)) for part in rest if part.amount]
    return rows


def state_of(invoice: Invoice, words: ClientWords) -> str:
    """Return an invoice's date and what is left of it: `October 14, 2026, paid in full`."""
    left = f"{words.amount(invoice.open)} left" if invoice.open > 0 else f"{invoice.settled_word} in full"
    return f"{formats.long_date(invoice.issued, words.locale)}, {left}"


def receipt_file_name(payment: Payment) -> str:
    """Return a safe file name without its ending: `receipt-2026-10-14-8D6F2B1E`."""
    safe = "".join(each if each.isalnum() else "-" for each in reference_of(payment))
    return f"receipt-{payment.date.isoformat()}-{safe}"


def receipt_pdf(payment: Payment) -> bytes:
    """Return a receipt's PDF, made anew each time, as what it says may change. Raises PdfUnavailable."""
    return render_pdf("pdf/receipt.html", {"paper": receipt_of(payment)})
