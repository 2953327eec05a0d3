"""Lists of invoices, payments, expenses, equipment, tax rates and mileage rates."""

from decimal import Decimal

import django_tables2 as tables
from django.utils.text import capfirst

from billing.models import (
    CreditNote,
    Equipment,
    Expense,
    Invoice,
    MileageRate,
    Payment,
    RepeatingExpense,
    TaxRate,
)
from billing.models.rate_state import RateState
from billing.reports import list_sheets
from billing.reports.account_rows import first_invoices
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.tables import MonthlyTable, RowTable


def in_words(*words: str) -> str:
    """Return what is known of a row as its second line; blank words are left out."""
    return ", ".join(filter(None, words))


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


class ExpenseTable(MonthlyTable):
    one, many = "expense", "expenses"
    orders = {
        "-date": "Latest first",
        "date": "Earliest first",
        "category": "By category",
        "-amount": "Largest first",
    }
    nothing_found = "Nothing paid to '{0}', and no category called '{0}'."
    date = tables.Column(order_by=("date", "pk"))
    category = tables.Column(order_by=("category", "-date", "-pk"))
    amount = tables.Column()

    class Meta(MonthlyTable.Meta):
        model = Expense
        fields = ("date", "category", "amount")
        empty_text = "No expenses yet. Add the first one: fuel, a toll, a rasp."

    @property
    def by_category(self) -> bool:
        return self.order == "category"

    def heading(self, expense: Expense) -> str:
        if self.by_category:
            return self.profile.home_country.named_category(expense.category)
        return super().heading(expense)

    def row(self, expense: Expense) -> ListRow:
        category = expense.get_category_display()
        name = expense.vendor or category if self.by_category else category
        return ListRow(
            expense.get_absolute_url(),
            name,
            more=in_words(
                self.day_of(expense),
                expense.vendor if name != expense.vendor else "",
                str(expense.vehicle or ""),
                expense.receipt and "receipt",
            ),
            fact=self.money(expense.amount),
            note="came back" if expense.amount < 0 else "",
        )


class RepeatingExpenseTable(RowTable):
    one, many = "repeating expense", "repeating expenses"
    orders = {"pk": "As added", "category": "By category", "-amount": "Largest first"}
    pk = tables.Column()
    category = tables.Column(order_by=("category", "pk"))
    amount = tables.Column()

    class Meta(RowTable.Meta):
        model = RepeatingExpense
        fields = ("pk", "category", "amount")
        empty_text = "Add the insurance or the phone bill, and you are reminded when it is due."

    def row(self, expense: RepeatingExpense) -> ListRow:
        category, due = expense.get_category_display(), expense.next_due
        until = expense.valid_to and f"until {self.day(expense.valid_to)}"
        return ListRow(
            expense.get_absolute_url(),
            str(expense),
            more=capfirst(in_words(expense.vendor and category, expense.get_every_display().lower(), until)),
            fact=self.money(expense.amount),
            note=f"due {self.near_day(due)}" if due else "ended",
        )


class EquipmentTable(RowTable):
    one, many = "tool", "tools"
    orders = {"is_in_use": "In use first", "name": "By name", "-cost": "Highest cost first"}
    nothing_found = "No tool is called '{}'."
    is_in_use = tables.Column(order_by=("-is_in_use", "-placed_in_service", "-pk"))
    name = tables.Column()
    cost = tables.Column()

    class Meta(RowTable.Meta):
        model = Equipment
        fields = ("is_in_use", "name", "cost")
        empty_text = "No tools yet. Add the anvil, the forge, the grinder."

    def heading(self, tool: Equipment) -> str:
        if self.order != "is_in_use":
            return ""
        return "In use" if tool.is_in_use else "Sold or scrapped"

    def row(self, tool: Equipment) -> ListRow:
        since = self.day(tool.placed_in_service)
        sold = tool.disposed_for and f"sold for {self.money(tool.disposed_for)}"
        return ListRow(
            tool.get_absolute_url(),
            tool.name,
            more=f"Since {since}" if tool.is_in_use else f"{since} to {self.day(tool.disposed_on)}",
            fact=self.money(tool.cost),
            note="" if tool.is_in_use else sold or "scrapped",
        )


class TaxRateTable(RowTable):
    one, many = "tax rate", "tax rates"
    orders = {"state": "In force first", "name": "By name", "area": "By area"}
    state = tables.Column(order_by=("state", "name", "area", "-valid_from", "-pk"))
    name = tables.Column(order_by=("name", "area", "-valid_from", "-pk"))
    area = tables.Column(order_by=("area", "name", "-valid_from", "-pk"))

    class Meta(RowTable.Meta):
        model = TaxRate
        fields = ("state", "name", "area")
        empty_text = "No tax rates yet. Nothing is taxed until you add one."

    def heading(self, rate: TaxRate) -> str:
        if self.order == "area":
            return rate.area or "Everywhere"
        return RateState(rate.state).label if self.order == "state" else ""

    def row(self, rate: TaxRate) -> ListRow:
        return ListRow(
            rate.get_absolute_url(),
            rate.name,
            more=f"{rate.area or 'Everywhere'}, {days_of_rate(self, rate)}",
            fact=formats.percent(rate.rate, self.profile.locale),
        )


class MileageRateTable(RowTable):
    one, many = "rate", "rates"
    orders = {"state": "In force first"}
    state = tables.Column(order_by=("state", "-valid_from", "tier_from"))

    class Meta(RowTable.Meta):
        model = MileageRate
        fields = ("state",)
        empty_text = "There is no rate for this scheme. Only actual costs are shown."

    def heading(self, rate: MileageRate) -> str:
        return RateState(rate.state).label

    def row(self, rate: MileageRate) -> ListRow:
        style = self.profile.locale
        above = rate.tier_from and f"above {formats.quantity(rate.tier_from, style)} in the year"
        return ListRow(
            rate.get_absolute_url(),
            capfirst(days_of_rate(self, rate)),
            more=capfirst(in_words(rate.source, "" if rate.from_program else "added by you")),
            fact=formats.unit_price(rate.rate, self.profile.currency, style),
            note=above or "",
        )


def days_of_rate(table: RowTable, rate: TaxRate | MileageRate) -> str:
    """Return the days of a dated rate: `from Jan 1, 2026`, `Jan 1, 2025 to Dec 31, 2025`."""
    if rate.valid_to:
        return f"{table.day(rate.valid_from)} to {table.day(rate.valid_to)}"
    return f"from {table.day(rate.valid_from)}"
