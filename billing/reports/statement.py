"""A client's account from one day to another: what moved it, and what is open at its end."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import AccountDay, CreditNote, Invoice, Payment, Settlement
from billing.rules.ageing import OpenAmount, by_age
from billing.rules.statements import (
    BOUNCED,
    CREDIT_NOTE,
    INVOICE,
    PAYMENT,
    REFUND,
    Course,
    Move,
    course_of,
)
from practice.lib.periods import Period
from practice.models import Client

ZERO = Decimal(0)


@dataclass(frozen=True)
class OpenInvoice:
    """An invoice with what is left to pay of it at the end of a statement."""

    invoice: Invoice
    open: Decimal

    def days_overdue(self, on: date) -> int:
        """Return how many days past due it is; below zero where it is not due yet."""
        return (on - self.invoice.due).days


@dataclass(frozen=True)
class Statement:
    """A client's account in a period, in the practice's currency.

    `credit` is what was paid and has settled nothing by its end, `beyond` what refunds gave back beyond
    everything that came in: the closing balance is `open_total` − `credit` + `beyond`.
    """

    client: Client
    period: Period
    course: Course
    open: tuple[OpenInvoice, ...]
    credit: Decimal
    beyond: Decimal

    @property
    def open_total(self) -> Decimal:
        return sum((row.open for row in self.open), ZERO)

    @property
    def ages(self) -> tuple[Decimal, ...]:
        """What is open by age on the last day, in each of `ageing.SPANS`."""
        return by_age([OpenAmount(row.invoice.due, row.open) for row in self.open], self.period.end)


def statement_of(client: Client, period: Period) -> Statement:
    """Return a client's statement for a period, as the account stood at its end."""
    invoices = list(Invoice.objects.filter(client=client).order_by("issued", "number"))
    notes = list(CreditNote.objects.filter(invoice__client=client).select_related("invoice").order_by("pk"))
    payments = list(Payment.objects.filter(client=client).select_related("invoice").order_by("pk"))
    course = course_of(
        [*map(move_of_invoice, invoices), *map(move_of_note, notes), *map(move_of_payment, payments)],
        period.begin,
        period.end,
    )
    open_rows = open_on(period.end, invoices, notes, client)
    last = AccountDay.objects.filter(client=client, date__lte=period.end).order_by("-date").first()
    credit = last.credit if last else ZERO
    beyond = course.closing - sum((row.open for row in open_rows), ZERO) + credit
    return Statement(client, period, course, open_rows, credit, beyond)


def move_of_invoice(invoice: Invoice) -> Move:
    return Move(invoice.issued, INVOICE, invoice.pk, invoice.total, invoice.number, due=invoice.due)


def move_of_note(note: CreditNote) -> Move:
    return Move(note.issued, CREDIT_NOTE, note.pk, -note.total, note.number, note.invoice.number)


def move_of_payment(payment: Payment) -> Move:
    """Return what a payment takes off an account, without its tip; what a refund puts on it again."""
    kind = BOUNCED if payment.bounced else REFUND if payment.amount < 0 else PAYMENT
    of_invoice = payment.invoice.number if payment.invoice else ""
    taken = payment.amount - payment.tip
    return Move(
        payment.date, kind, payment.pk, -taken, payment.get_method_display(), of_invoice, tip=payment.tip
    )


def open_on(
    day: date, invoices: list[Invoice], notes: list[CreditNote], client: Client
) -> tuple[OpenInvoice, ...]:
    """Return the invoices that something was left to pay of at the end of a day, the earliest due first."""
    taken: dict[int, Decimal] = defaultdict(Decimal)
    for note in notes:
        if note.issued <= day:
            taken[note.invoice_id] += note.total
    settled = Settlement.objects.filter(invoice__client=client, date__lte=day)
    for invoice, amount in settled.values_list("invoice", "amount"):
        taken[invoice] += amount
    rows = [
        OpenInvoice(invoice, invoice.total - taken[invoice.pk])
        for invoice in invoices
        if invoice.issued <= day and invoice.total > taken[invoice.pk]
    ]
    return tuple(sorted(rows, key=lambda row: (row.invoice.due, row.invoice.issued, row.invoice.number)))
