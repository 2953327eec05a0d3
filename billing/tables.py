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


class InvoiceTable(BookTable):
    one, many = "invoice", "invoices"
    number = tables.Column(attrs=NAME, order_by=("number",))
    client = tables.Column()
    issued = tables.Column(attrs=NUM)
    due = tables.Column(attrs=NUM)
    total = tables.Column(attrs=NUM)
    settled = tables.Column(verbose_name="Paid", attrs=NUM)

    class Meta(BookTable.Meta):
        model = Invoice
        fields = ("number", "client", "issued", "due", "total", "settled")
        empty_text = "No invoice yet. Closing a day issues them."

    def render_number(self, value, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), value)

    def render_issued(self, value):
        return self.day(value)

    def render_due(self, value):
        return self.day(value)

    def render_total(self, value):
        return self.money(value)

    def render_settled(self, value):
        return self.money(value)


class PaymentTable(BookTable):
    one, many = "payment", "payments"
    client = tables.Column(attrs=NAME)
    date = tables.Column(attrs=NUM)
    method = tables.Column()
    invoice = tables.Column()
    amount = tables.Column(attrs=NUM)

    class Meta(BookTable.Meta):
        model = Payment
        fields = ("client", "date", "method", "invoice", "amount")
        empty_text = "No payment yet. Take one on a client's page."

    def render_client(self, value, record):
        target = reverse("practice:client-detail", args=[record.client_id])
        return format_html('<a href="{}">{}</a>', target, value)

    def render_date(self, value):
        return self.day(value)

    def render_amount(self, value):
        return self.money(value)


class ExpenseTable(BookTable):
    one, many = "expense", "expenses"
    category = tables.Column(verbose_name="For", attrs=NAME)
    date = tables.Column(attrs=NUM, order_by=("date", "pk"))
    vendor = tables.Column(verbose_name="Paid to")
    vehicle = tables.Column()
    line = tables.Column(accessor="category", order_by=("category",))
    receipt = tables.Column(orderable=False)
    amount = tables.Column(attrs=NUM)

    class Meta(BookTable.Meta):
        model = Expense
        fields = ("category", "date", "vendor", "vehicle", "line", "receipt", "amount")
        empty_text = "No expense yet. Write down the first one: fuel, a toll, a rasp."

    def __init__(self, *args, tax_form: TaxForm | None, **kwargs):
        super().__init__(*args, exclude=() if tax_form else ("line",), **kwargs)
        if tax_form:
            self.columns["line"].column.verbose_name = tax_form.name

    def render_category(self, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record.get_category_display())

    def render_date(self, value):
        return self.day(value)

    def render_line(self, record):
        return self.profile.home_country.line_of(record.category)

    def render_receipt(self, record):
        return format_html(
            '<a class="go" href="{}">Receipt</a>', reverse("billing:expense-receipt", args=[record.pk])
        )

    def render_amount(self, value):
        return self.money(value)


class RepeatingExpenseTable(BookTable):
    one, many = "repeating expense", "repeating expenses"
    category = tables.Column(verbose_name="For", attrs=NAME)
    vendor = tables.Column(verbose_name="Paid to")
    every = tables.Column(verbose_name="It comes")
    valid_from = tables.Column(verbose_name="Since", attrs=NUM)
    valid_to = tables.Column(verbose_name="Until", attrs=NUM)
    amount = tables.Column(attrs=NUM)

    class Meta(BookTable.Meta):
        model = RepeatingExpense
        fields = ("category", "vendor", "every", "valid_from", "valid_to", "amount")
        empty_text = "Nothing repeats yet. Add the insurance or the telephone: it is proposed when it is due."

    def render_category(self, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record.get_category_display())

    def render_every(self, record):
        return record.get_every_display()

    def render_valid_from(self, value):
        return self.day(value)

    def render_valid_to(self, value):
        return self.day(value)

    def render_amount(self, value):
        return self.money(value)


class EquipmentTable(BookTable):
    one, many = "tool", "tools"
    name = tables.Column(attrs=NAME)
    placed_in_service = tables.Column(verbose_name="In use since", attrs=NUM)
    cost = tables.Column(attrs=NUM)
    disposed_on = tables.Column(verbose_name="Went on", attrs=NUM)
    disposed_for = tables.Column(verbose_name="Brought", attrs=NUM)

    class Meta(BookTable.Meta):
        model = Equipment
        fields = ("name", "placed_in_service", "cost", "disposed_on", "disposed_for")
        empty_text = "Nothing yet. Add the anvil, the forge, the grinder."

    def render_name(self, value, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), value)

    def render_placed_in_service(self, value):
        return self.day(value)

    def render_cost(self, value):
        return self.money(value)

    def render_disposed_on(self, value):
        return self.day(value)

    def render_disposed_for(self, value):
        return self.money(value)


class TaxRateTable(BookTable):
    one, many = "tax rate", "tax rates"
    name = tables.Column(attrs=NAME)
    rate = tables.Column(verbose_name="Percent", attrs=NUM)
    area = tables.Column()
    valid_from = tables.Column(verbose_name="From", attrs=NUM)
    valid_to = tables.Column(verbose_name="To", attrs=NUM)

    class Meta(BookTable.Meta):
        model = TaxRate
        fields = ("name", "rate", "area", "valid_from", "valid_to")
        empty_text = "No tax rate yet. Nothing is taxed until you say so."

    def render_name(self, value, record):
        return format_html('<a href="{}">{}</a>', reverse("billing:tax-rate-change", args=[record.pk]), value)

    def render_rate(self, value):
        return formats.quantity(value, self.profile.locale)

    def render_valid_from(self, value):
        return self.day(value)

    def render_valid_to(self, value):
        return self.day(value)


class MileageRateTable(BookTable):
    one, many = "rate", "rates"
    valid_from = tables.Column(verbose_name="From", attrs=NAME)
    valid_to = tables.Column(verbose_name="To", attrs=NUM)
    tier_from = tables.Column(verbose_name="Above", attrs=NUM)
    rate = tables.Column(attrs=NUM)
    source = tables.Column(orderable=False)
    from_program = tables.Column(verbose_name="Brought by", orderable=False)

    class Meta(BookTable.Meta):
        model = MileageRate
        fields = ("valid_from", "valid_to", "tier_from", "rate", "source", "from_program")
        empty_text = "No rate is known for this scheme. Only the actual costs are worked out."

    def render_valid_from(self, value, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), self.day(value))

    def render_valid_to(self, value):
        return self.day(value)

    def render_tier_from(self, value):
        return formats.quantity(value, self.profile.locale)

    def render_rate(self, value):
        return formats.unit_price(value, self.profile.currency, self.profile.locale)

    def render_from_program(self, value):
        return "the program" if value else "you"
