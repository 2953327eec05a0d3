"""Invoices and payments as rows of one client's account."""

from datetime import date
from decimal import Decimal

from billing.models import Invoice, Payment
from practice.lib.formats import amount, first_of, medium_date
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile

NAMED = 3  # so many invoices of a payment are named


def first_invoices(payment: Payment) -> list[str]:
    """Return the first invoices that a payment settled, and how many more there are."""
    return first_of(payment.invoice_numbers, NAMED)


def invoice_row(invoice: Invoice, on: date, profile: Profile) -> ListRow:
    """Return an invoice's row: its date and total, and what is open of it."""
    style = profile.currency, profile.locale
    is_open = invoice.open > 0
    return ListRow(
        invoice.get_absolute_url(),
        invoice.number,
        f"{medium_date(invoice.issued, profile.locale)}, {amount(invoice.total, *style)}",
        f"{amount(invoice.open, *style)} open" if is_open else invoice.settled_word,
        late=is_open and invoice.due < on,
    )


def payment_row(payment: Payment, profile: Profile) -> ListRow:
    """Return a payment's row: its date, what it settled, and what of it is a tip or was left as credit."""
    style = profile.currency, profile.locale
    settled = ", ".join(first_invoices(payment))
    parts = {"tip": payment.tip, "not settled": left_of(payment)}
    return ListRow(
        payment.get_absolute_url(),
        payment.title,
        ", ".join(
            filter(
                None,
                [medium_date(payment.date, profile.locale), settled and f"for {settled}", payment.note],
            )
        ),
        amount(payment.amount, *style),
        note=", ".join(f"{word} {amount(part, *style)}" for word, part in parts.items() if part > 0),
    )


def left_of(payment: Payment) -> Decimal:
    """Return what of a payment settled no invoice and is no tip; 0 of a refund or a bounced check."""
    if payment.amount < 0:
        return Decimal(0)
    return payment.amount - payment.tip - sum((row.amount for row in payment.settlements.all()), Decimal(0))
