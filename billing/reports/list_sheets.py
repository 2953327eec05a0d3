"""The lists of money as tables for spreadsheets: invoices and their lines, credit notes, payments, who owes.

Amounts are in the practice's currency, with its decimals.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet
from django.utils.text import capfirst

from billing.models import CreditNote, Invoice, InvoiceLine, Payment
from billing.reports.receivable import ClientBalance
from billing.rules.ageing import SPANS
from practice.lib.downloads import Download
from practice.lib.money import round_money
from practice.lib.profile import Profile
from practice.lib.sheet_tables import AMOUNT, DAY, NUMBER, RATE, Table, columns


def invoice_table(invoices: Iterable[Invoice], profile: Profile, on: date) -> Table:
    """Return invoices with what was paid and credited of each; needs `with_settled`."""
    return Table(
        "Invoices",
        "invoices.csv",
        columns(
            *("Number", ("Date", DAY), ("Due", DAY), "Client", ("Net", AMOUNT, True), _tax(profile)),
            *(("Total", AMOUNT, True), ("Paid", AMOUNT, True), ("Credited", AMOUNT, True)),
            *(("Left to pay", AMOUNT, True), ("Days overdue", NUMBER)),
        ),
        tuple(
            (
                *(row.number, row.issued, row.due, row.client.name),
                *_amounts(profile, row.net, row.tax, row.total, row.settled, row.credited, row.open),
                max((on - row.due).days, 0) if row.open > 0 else None,
            )
            for row in invoices
        ),
    )


def line_table(invoices: QuerySet[Invoice], profile: Profile, on: date) -> Table:
    """Return the lines of invoices, in the order of these."""
    rows: dict[int, list[InvoiceLine]] = defaultdict(list)
    asked = InvoiceLine.objects.for_paper().filter(invoice__in=invoices.order_by().values("pk"))
    for line in asked:
        rows[line.invoice_id].append(line)
    return Table(
        "Invoice lines",
        "invoice-lines.csv",
        columns(
            *("Invoice", ("Date", DAY), "Client", "Kind", ("Done on", DAY), "Place", "Horse", "What"),
            *(("Quantity", NUMBER), ("Price of one", RATE), ("Share, percent", RATE), ("Net", AMOUNT, True)),
            *("Taxes", "Tax rates, percent"),
        ),
        tuple(
            (
                *(invoice.number, invoice.issued, invoice.client.name, line.get_kind_display()),
                *(line.day, line.visit.place.name if line.visit else ""),
                *(line.horse.name if line.horse else "", line.name),
                *(line.quantity, line.unit_price, line.share, *_amounts(profile, line.net)),
                *(line.tax_names.replace(";", ", "), line.tax_rates.replace(";", ", ")),
            )
            for invoice in invoices
            for line in rows[invoice.pk]
        ),
    )


def credit_note_table(notes: Iterable[CreditNote], profile: Profile, on: date) -> Table:
    return Table(
        "Credit notes",
        "credit-notes.csv",
        columns(
            *("Number", ("Date", DAY), "Invoice", "Client", "Reason", ("Net", AMOUNT, True), _tax(profile)),
            *(("Total", AMOUNT, True), "Note"),
        ),
        tuple(
            (
                *(row.number, row.issued, row.invoice.number, row.invoice.client.name),
                row.get_reason_display(),
                *_amounts(profile, row.net, row.tax, row.total),
                row.note,
            )
            for row in notes
        ),
    )


def payment_table(payments: Iterable[Payment], profile: Profile, on: date) -> Table:
    """Return payments; below zero are refunds and bounced checks, and `What it is` says which."""
    return Table(
        "Payments",
        "payments.csv",
        columns(
            *(("Date", DAY), "Client", "What it is", "Method", ("Amount", AMOUNT, True)),
            *(("Tip included", AMOUNT, True), "Check number", "Invoices", "Note"),
        ),
        tuple(
            (
                *(row.date, row.client.name, row.kind, row.get_method_display()),
                *_amounts(profile, row.amount, row.tip),
                *(row.check_number, ", ".join(row.invoice_numbers), row.note),
            )
            for row in payments
        ),
    )


def receivable_table(balances: Sequence[ClientBalance], profile: Profile, on: date) -> Table:
    """Return what each client owes, by days past due."""
    return Table(
        "Owed",
        "owed.csv",
        columns(
            *("Client", "Email", "Phone", ("Open invoices", NUMBER), ("Oldest due date", DAY)),
            *(("Days overdue", NUMBER), *((span, AMOUNT, True) for span in SPANS), ("Owed", AMOUNT, True)),
        ),
        tuple(
            (
                *(row.client.name, row.client.email, row.client.phone, row.invoices, row.due),
                max(row.days_overdue(on), 0),
                *_amounts(profile, *row.ages(on), row.open),
            )
            for row in balances
        ),
    )


def _tax(profile: Profile) -> tuple:
    return capfirst(profile.home_country.sales_tax), AMOUNT, True


def _amounts(profile: Profile, *values: Decimal) -> list[Decimal]:
    """Return amounts with the decimals of the currency, which the book keeps without zeros at the end."""
    return [round_money(value, profile.currency) for value in values]


INVOICES = (
    Download("invoices", "Download invoices", invoice_table),
    Download("invoice-lines", "Download their lines", line_table),
)
CREDIT_NOTES = (Download("credit-notes", "Download", credit_note_table),)
PAYMENTS = (Download("payments", "Download", payment_table),)
RECEIVABLE = (Download("owed", "Download", receivable_table),)
