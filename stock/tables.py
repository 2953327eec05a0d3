"""Lists of suppliers, of places and of an item's ledger."""

from collections.abc import Callable, Iterable, Mapping

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from practice.lib import formats
from practice.lib.tables import BookTable
from stock.models import Location, MovementKind, Order, Supplier, Valuation
from stock.rules.facts import CORRECTION

NAME, NUM, WIDE = ({"td": {"class": kind}} for kind in ("name", "num", "wide"))


class SupplierTable(BookTable):
    one, many = "supplier", "suppliers"
    name = tables.Column(attrs=NAME)
    phone = tables.Column()
    lead_time_days = tables.Column(verbose_name="Days", attrs=NUM)

    class Meta(BookTable.Meta):
        model = Supplier
        fields = ("name", "phone", "lead_time_days")
        empty_text = "No supplier yet. Add who you buy from."

    def render_name(self, value, record):
        return format_html('<a href="{}">{}</a>', reverse("stock:supplier-change", args=[record.pk]), value)


class OrderTable(BookTable):
    one, many = "order", "orders"
    ordered_on = tables.Column(verbose_name="On", attrs=NAME)
    supplier = tables.Column(verbose_name="From", default="nobody named")
    line_count = tables.Column(verbose_name="Things", attrs=NUM)
    is_open = tables.Column(verbose_name="State")

    class Meta(BookTable.Meta):
        model = Order
        fields = ("ordered_on", "supplier", "line_count", "is_open")
        empty_text = "No order yet. Order what runs low; what is on order counts as coming."

    def render_ordered_on(self, value, record):
        day = formats.medium_date(value, self.profile.locale)
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), day)

    def render_is_open(self, value):
        return "still to come" if value else "closed"


class LocationTable(BookTable):
    one, many = "place", "places"
    name = tables.Column(attrs=NAME)
    kept = tables.Column(verbose_name="Items", attrs=NUM)
    below = tables.Column(verbose_name="Below zero", attrs=NUM)

    class Meta(BookTable.Meta):
        model = Location
        fields = ("name", "kept", "below")
        orderable = False
        empty_text = "One shelf. Add places where stock lies at more than one: the truck, the shop."

    def render_name(self, value, record):
        return format_html('<a href="{}">{}</a>', reverse("stock:location-change", args=[record.pk]), value)


# What the part above knows of jobs (a horse at its visit): for some of them, a link's words and address.
Causes = Callable[[Iterable[str]], Mapping[str, tuple[str, str]]]


class LedgerTable(BookTable):
    """The rows of one item's ledger. `causes` says what the jobs of a page's rows are."""

    one, many = "entry", "entries"
    date = tables.Column(accessor="movement__date", attrs=NAME)
    kind = tables.Column()
    cause = tables.Column(empty_values=(), verbose_name="Because of", attrs=WIDE)
    location = tables.Column()
    quantity = tables.Column(attrs=NUM)
    cost = tables.Column(attrs=NUM)
    on_hand = tables.Column(verbose_name="On hand", attrs=NUM)
    value = tables.Column(attrs=NUM)
    back = tables.Column(empty_values=(), verbose_name="")

    class Meta(BookTable.Meta):
        model = Valuation
        fields = ("date", "kind", "cause", "location", "quantity", "cost", "on_hand", "value", "back")
        orderable = False
        empty_text = "Nothing came or went yet. Count it first: the opening shelf."

    def __init__(self, *args, causes: Causes, **kwargs):
        super().__init__(*args, **kwargs)
        self.causes = causes

    def before_render(self, request):
        jobs = {row.record.movement.job for row in self.paginated_rows} - {""}
        self.caused = self.causes(jobs)

    def render_date(self, value):
        return formats.medium_date(value, self.profile.locale)

    def render_cause(self, record):
        fact = record.movement
        words = []
        if fact.kind == MovementKind.REVERSAL:
            day = formats.medium_date(fact.reverses.date, self.profile.locale)
            words.append(f"takes back {fact.reverses.get_kind_display().lower()} of {day}")
        if fact.job in self.caused:
            said, address = self.caused[fact.job]
            words.append(format_html('<a href="{}">{}</a>', address, said))
        purchase = getattr(fact, "purchase", None)
        if purchase:
            if purchase.order_line:
                order = purchase.order_line.order
                day = formats.medium_date(order.ordered_on, self.profile.locale)
                words.append(format_html('<a href="{}">order of {}</a>', order.get_absolute_url(), day))
            words += [str(word) for word in (purchase.supplier, purchase.reference) if word]
            words += [f"lot {purchase.lot}"] if purchase.lot else []
            if purchase.use_by:
                words.append(f"use by {formats.medium_date(purchase.use_by, self.profile.locale)}")
        if fact.note:
            words.append(fact.note)
        return format_html_join(", ", "{}", ((word,) for word in words))

    def render_back(self, record):
        fact = record.movement
        takes = fact.kind in (MovementKind.USE, MovementKind.REVERSAL) or hasattr(fact, "reversal")
        if takes or record.kind == CORRECTION or (fact.kind == MovementKind.TRANSFER and record.quantity > 0):
            return ""
        return format_html('<a href="{}">Take it back</a>', reverse("stock:fact-reverse", args=[fact.pk]))

    def render_quantity(self, value):
        return formats.quantity(value, self.profile.locale)

    render_on_hand = render_quantity

    def render_cost(self, value):
        return formats.amount(value, self.profile.currency, self.profile.locale)

    render_value = render_cost
