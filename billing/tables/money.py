"""Lists of invoices, credit notes and payments."""

from decimal import Decimal

import django_tables2 as tables

from billing.models import CreditNote, Invoice, Payment
from billing.reports import list_sheets
from billing.reports.account_rows import first_invoices
from billing.tables.words import in_words
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.tables import MonthlyTable


class InvoiceTable(MonthlyTable):
    """Invoices: what is open and since when, then the others by month."""

    one, many = "invoice", "invoices"
    orders = {
        "is_open": "Open first",
        "-issued": "Latest first",
        "client": "By client",
        "-total": "Largest first",
    }
    nothing_found = "No invoice number or client matches '{}'."
    downloads = list_sheets.INVOICES
    day_field, amount_field = "issued", "total"
    is_open = tables.Column(order_by=("-is_open", "due_if_open", "-issued", "-pk"))
    issued = tables.Column(order_by=("issued", "pk"))
    client = tables.Column(order_by=("client__name", "-issued", "-pk"))
    total = tables.Column()

    class Meta(MonthlyTable.Meta):
        model = Invoice
        fields = ("is_open", "issued", "client", "total")
        empty_text = "No invoices yet. They are issued when you close a day."

    @property
    def open_first(self) -> bool:
        return self.order == "is_open"

    def in_month(self, invoice: Invoice) -> bool:
        return not invoice.is_open if self.open_first else super().in_month(invoice)

    def heading(self, invoice: Invoice) -> str:
        if not self.open_first:
            return super().heading(invoice)
        return "Open" if invoice.is_open else f"Paid, from {self.month(invoice.issued)}"

    def row(self, invoice: Invoice) -> ListRow:
        if not invoice.is_open:
            return self._row(invoice, self.day_of(invoice), invoice.total, invoice.settled_word)
        days = (self.on - invoice.due).days
        note = formats.days_over(days) if days > 0 else f"due {self.near_day(invoice.due)}"
        issued = "" if self.open_first else self.day_of(invoice)
        total = f"of {self.money(invoice.total)}" if invoice.settled or invoice.credited else ""
        return self._row(invoice, in_words(issued, total), invoice.open, note, late=days > 0)

    def _row(self, invoice: Invoice, words: str, amount: Decimal, note: str, late: bool = False) -> ListRow:
        return ListRow(
            invoice.get_absolute_url(),
            str(invoice.client),
            more=in_words(invoice.number, words),
            fact=self.money(amount),
            late=late,
            note=note,
        )


class CreditNoteTable(MonthlyTable):
    """Credit notes by month, each with the invoice that it is for."""

    one, many = "credit note", "credit notes"
    orders = {
        "-issued": "Latest first",
        "issued": "Earliest first",
        "client": "By client",
        "-total": "Largest first",
    }
    nothing_found = "No number or client matches '{}'."
    downloads = list_sheets.CREDIT_NOTES
    day_field, amount_field = "issued", "total"
    issued = tables.Column(order_by=("issued", "pk"))
    client = tables.Column(order_by=("invoice__client__name", "-issued", "-pk"))
    total = tables.Column()

    class Meta(MonthlyTable.Meta):
        model = CreditNote
        fields = ("issued", "client", "total")
        empty_text = "No credit notes yet. Make one on the page of an invoice."

    def row(self, note: CreditNote) -> ListRow:
        return ListRow(
            note.get_absolute_url(),
            str(note.invoice.client),
            more=in_words(note.number, self.day_of(note), f"for {note.invoice}"),
            fact=self.money(note.total),
            note=note.get_reason_display().lower(),
        )


class PaymentTable(MonthlyTable):
    one, many = "payment", "payments"
    orders = {
        "-date": "Latest first",
        "date": "Earliest first",
        "client": "By client",
        "-amount": "Largest first",
    }
    nothing_found = "No client, invoice number, or check number matches '{}'."
    downloads = list_sheets.PAYMENTS
    date = tables.Column(order_by=("date", "pk"))
    client = tables.Column(order_by=("client__name", "-date", "-pk"))
    amount = tables.Column()

    class Meta(MonthlyTable.Meta):
        model = Payment
        fields = ("date", "client", "amount")
        empty_text = "No payments yet. Record one on a client's page."

    def row(self, payment: Payment) -> ListRow:
        tip = payment.tip > 0 and f"tip {self.money(payment.tip)}"
        deposited = payment.deposit and f"deposited {self.near_day(payment.deposit.date)}"
        return ListRow(
            payment.get_absolute_url(),
            str(payment.client),
            more=in_words(self.day_of(payment), payment.how, *first_invoices(payment), deposited),
            fact=self.money(payment.amount),
            note=payment.kind.lower() if payment.amount < 0 else tip or "",
        )
