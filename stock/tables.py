"""Lists of suppliers and of an item's ledger."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from practice.lib import formats
from stock.models import Order, Supplier, Valuation

NAME, NUM = {"td": {"class": "name"}}, {"td": {"class": "num"}}


class SupplierTable(tables.Table):
    name = tables.Column(attrs=NAME)
    phone = tables.Column()
    lead_time_days = tables.Column(verbose_name="Days", attrs=NUM)

    class Meta:
        template_name = "parts/table.html"
        model = Supplier
        fields = ("name", "phone", "lead_time_days")
        empty_text = "No supplier yet. Add who you buy from."

    def render_name(self, value, record):
        return format_html('<a href="{}">{}</a>', reverse("stock:supplier-change", args=[record.pk]), value)


class OrderTable(tables.Table):
    ordered_on = tables.Column(verbose_name="On", attrs=NAME)
    supplier = tables.Column(verbose_name="From", default="nobody named")
    line_count = tables.Column(verbose_name="Things", attrs=NUM)
    is_open = tables.Column(verbose_name="State")

    class Meta:
        template_name = "parts/table.html"
        model = Order
        fields = ("ordered_on", "supplier", "line_count", "is_open")
        empty_text = "No order yet. Order what runs low; what is on order counts as coming."

    def render_ordered_on(self, value, record):
        day = formats.medium_date(value, self.profile.locale)
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), day)

    def render_is_open(self, value):
        return "still to come" if value else "closed"


class LedgerTable(tables.Table):
    date = tables.Column(accessor="movement__date", attrs=NAME)
    kind = tables.Column()
    location = tables.Column()
    quantity = tables.Column(attrs=NUM)
    cost = tables.Column(attrs=NUM)
    on_hand = tables.Column(verbose_name="On hand", attrs=NUM)
    value = tables.Column(attrs=NUM)

    class Meta:
        template_name = "parts/table.html"
        model = Valuation
        fields = ("date", "kind", "location", "quantity", "cost", "on_hand", "value")
        orderable = False
        empty_text = "Nothing came or went yet. Count it first: the opening shelf."

    def render_date(self, value):
        return formats.medium_date(value, self.profile.locale)

    def render_quantity(self, value):
        return formats.quantity(value, self.profile.locale)

    render_on_hand = render_quantity

    def render_cost(self, value):
        return formats.amount(value, self.profile.currency, self.profile.locale)

    render_value = render_cost
