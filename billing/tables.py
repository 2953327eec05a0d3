"""Lists of invoices, payments, expenses, equipment, tax rates and mileage rates."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from billing.models import (
    Equipment,
    Expense,
    Invoice,
    MileageRate,
    Payment,
    RepeatingExpense,
    TaxRate,
)
from practice.lib import formats
from practice.lib.countries import TaxForm
from practice.lib.tables import BookTable

NAME, NUM = {"td": {"class": "name"}}, {"td": {"class": "num"}}
FACT = {"td": {"class": "num fact"}}


class NameColumn(tables.Column):
    """What a row is called, as a link to its page, or to the page of the client that it names."""

    def __init__(self, **kwargs):
        super().__init__(attrs=NAME, linkify=True, **kwargs)


class DayColumn(tables.Column):
    """A date: `Oct 19, 2026`."""

    def __init__(self, **kwargs):
        super().__init__(attrs=NUM, **kwargs)

    def render(self, value, table: BookTable) -> str:
        return table.day(value)


class AmountColumn(tables.Column):
    """An amount in the practice's currency, without its sign; `is_fact`: a row's one figure on a phone."""

    def __init__(self, *, is_fact: bool = False, **kwargs):
        super().__init__(attrs=FACT if is_fact else NUM, **kwargs)

    def render(self, value, table: BookTable) -> str:
        return table.money(value)


class InvoiceTable(BookTable):
    one, many = "invoice", "invoices"
    nothing_found = "No invoice number or client matches '{}'."
    number = NameColumn(order_by=("number",))
    client = tables.Column()
    issued = DayColumn()
    due = DayColumn()
    total = AmountColumn(is_fact=True)
    settled = AmountColumn(verbose_name="Paid")

    class Meta(BookTable.Meta):
        model = Invoice
        fields = ("number", "client", "issued", "due", "total", "settled")
        empty_text = "No invoices yet. They are issued when you close a day."


class PaymentTable(BookTable):
    one, many = "payment", "payments"
    nothing_found = "No client or invoice number matches '{}'."
    client = NameColumn()
    date = DayColumn()
    method = tables.Column()
    invoice = tables.Column()
    amount = AmountColumn(is_fact=True)

    class Meta(BookTable.Meta):
        model = Payment
        fields = ("client", "date", "method", "invoice", "amount")
        empty_text = "No payments yet. Record one on a client's page."


class ExpenseTable(BookTable):
    one, many = "expense", "expenses"
    nothing_found = "Nothing paid to '{0}', and no category called '{0}'."
    category = NameColumn()
    date = DayColumn(order_by=("date", "pk"))
    vendor = tables.Column(verbose_name="Paid to")
    vehicle = tables.Column()
    line = tables.Column(accessor="category", order_by=("category",))
    receipt = tables.Column(orderable=False)
    amount = AmountColumn(is_fact=True)

    class Meta(BookTable.Meta):
        model = Expense
        fields = ("category", "date", "vendor", "vehicle", "line", "receipt", "amount")
        empty_text = "No expenses yet. Add the first one: fuel, a toll, a rasp."

    def __init__(self, *args, tax_form: TaxForm | None, **kwargs):
        super().__init__(*args, exclude=() if tax_form else ("line",), **kwargs)
        if tax_form:
            self.columns["line"].column.verbose_name = tax_form.name

    def render_line(self, record):
        return self.profile.home_country.line_of(record.category)

    def render_receipt(self, record):
        address = reverse("billing:expense-receipt", args=[record.pk])
        return format_html('<a class="go" href="{}">Receipt</a>', address)


class RepeatingExpenseTable(BookTable):
    one, many = "repeating expense", "repeating expenses"
    category = NameColumn()
    vendor = tables.Column(verbose_name="Paid to")
    every = tables.Column(verbose_name="Repeats")
    valid_from = DayColumn(verbose_name="First due")
    valid_to = DayColumn(verbose_name="Ends")
    amount = AmountColumn(is_fact=True)

    class Meta(BookTable.Meta):
        model = RepeatingExpense
        fields = ("category", "vendor", "every", "valid_from", "valid_to", "amount")
        empty_text = "Add the insurance or the phone bill, and you are reminded when it is due."


class EquipmentTable(BookTable):
    one, many = "tool", "tools"
    nothing_found = "No tool is called '{}'."
    name = NameColumn()
    placed_in_service = DayColumn(verbose_name="In use since")
    cost = AmountColumn(is_fact=True)
    disposed_on = DayColumn(verbose_name="Sold or scrapped")
    disposed_for = AmountColumn(verbose_name="Sold for")

    class Meta(BookTable.Meta):
        model = Equipment
        fields = ("name", "placed_in_service", "cost", "disposed_on", "disposed_for")
        empty_text = "No tools yet. Add the anvil, the forge, the grinder."


class TaxRateTable(BookTable):
    one, many = "tax rate", "tax rates"
    name = NameColumn()
    rate = tables.Column(attrs=FACT)
    area = tables.Column()
    valid_from = DayColumn(verbose_name="First day")
    valid_to = DayColumn(verbose_name="Last day")

    class Meta(BookTable.Meta):
        model = TaxRate
        fields = ("name", "rate", "area", "valid_from", "valid_to")
        empty_text = "No tax rates yet. Nothing is taxed until you add one."

    def render_rate(self, value):
        return formats.percent(value, self.profile.locale)


class MileageRateTable(BookTable):
    one, many = "rate", "rates"
    valid_from = tables.Column(verbose_name="From", attrs=NAME)
    valid_to = DayColumn(verbose_name="To")
    tier_from = tables.Column(verbose_name="Above", attrs=NUM)
    rate = tables.Column(attrs=NUM)
    source = tables.Column(orderable=False)
    from_program = tables.Column(verbose_name="Added by", orderable=False)

    class Meta(BookTable.Meta):
        model = MileageRate
        fields = ("valid_from", "valid_to", "tier_from", "rate", "source", "from_program")
        empty_text = "There is no rate for this scheme. Only actual costs are shown."

    def render_valid_from(self, value, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), self.day(value))

    def render_tier_from(self, value):
        return formats.quantity(value, self.profile.locale)

    def render_rate(self, value):
        return formats.unit_price(value, self.profile.currency, self.profile.locale)

    def render_from_program(self, value):
        return "Roundbook" if value else "you"
