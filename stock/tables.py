"""Lists of suppliers, orders and locations, and the ledger of an item."""

from collections.abc import Callable, Iterable, Mapping

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from practice.lib import formats
from practice.lib.tables import BookTable, ListRow, RowTable
from stock.models import Location, MovementKind, Order, Purchase, Supplier, Valuation
from stock.rules.facts import CORRECTION

# A phone shows the columns without `only-desk`: a line an entry.
DAY, NUM, LAST_ON_PHONE, DESK, NUM_ON_DESK = (
    {"td": {"class": kind}} for kind in ("day", "num", "num outer", "only-desk", "num only-desk")
)


class SupplierTable(RowTable):
    one, many = "supplier", "suppliers"
    orders = {"name": "By name", "lead_time_days": "Fastest first"}
    nothing_found = "No supplier is called '{}'."
    name = tables.Column()
    lead_time_days = tables.Column()

    class Meta(RowTable.Meta):
        model = Supplier
        fields = ("name", "lead_time_days")
        empty_text = "No suppliers yet. Add who you buy from."

    def row(self, supplier: Supplier) -> ListRow:
        return ListRow(
            supplier.get_absolute_url(), supplier.name, more=supplier.delivers, fact=supplier.phone
        )


class OrderTable(RowTable):
    one, many = "order", "orders"
    orders = {"state": "Open first", "-ordered_on": "Latest first", "supplier": "By supplier"}
    nothing_found = "No order matches '{}'."
    state = tables.Column(order_by=("-is_open", "-ordered_on", "-pk"))
    ordered_on = tables.Column(order_by=("ordered_on", "pk"))
    supplier = tables.Column(order_by=("supplier__name", "-ordered_on"))

    class Meta(RowTable.Meta):
        model = Order
        fields = ("state", "ordered_on", "supplier")
        empty_text = "No orders yet. Order what is running low; the plan counts what is on order."

    def heading(self, order: Order) -> str:
        if self.order != "state":
            return ""
        return "Still to come" if order.is_open else "Complete"

    def row(self, order: Order) -> ListRow:
        items = formats.counted(order.line_count, "item")
        day = order.expected_on if order.is_open and order.expected_on else order.ordered_on
        return ListRow(
            order.get_absolute_url(),
            str(order.supplier or "No supplier"),
            more=f"{order}, {items}",
            fact=self.near_day(day),
            late=day != order.ordered_on and day < self.on,
            note="ordered" if day == order.ordered_on else "expected",
        )


class LocationTable(RowTable):
    one, many = "location", "locations"
    orders = {"pk": "As added", "name": "By name"}
    pk = tables.Column()
    name = tables.Column()

    class Meta(RowTable.Meta):
        model = Location
        fields = ("pk", "name")
        empty_text = "No locations yet. Add them where you keep stock, such as the truck and the shop."

    def row(self, location: Location) -> ListRow:
        in_stock = f"{formats.counted(location.in_stock, 'item')} in stock" if location.in_stock else "Empty"
        below = f"{formats.counted(location.below, 'item')} below zero" if location.below else ""
        return ListRow(location.get_absolute_url(), location.name, more=in_stock, fact=below, late=True)


# What the app above knows of jobs (a horse at its visit): for some of them, a link's words and address.
Causes = Callable[[Iterable[str]], Mapping[str, tuple[str, str]]]


class LedgerTable(BookTable):
    """The rows of one item's ledger. `causes` says what the jobs of a page's rows are."""

    one, many = "entry", "entries"
    nothing_found = "No entry matches '{}'."
    date = tables.Column(accessor="movement__date", attrs=DAY)
    entry = tables.Column(empty_values=())
    location = tables.Column(attrs=DESK)
    quantity = tables.Column(attrs=NUM)
    cost = tables.Column(attrs=NUM_ON_DESK)
    on_hand = tables.Column(verbose_name="On hand", attrs=LAST_ON_PHONE)
    value = tables.Column(attrs=NUM_ON_DESK)

    class Meta(BookTable.Meta):
        model = Valuation
        fields = ("date", "entry", "location", "quantity", "cost", "on_hand", "value")
        orderable = False
        empty_text = "Nothing has come or gone yet. Start by counting what you have."

    def __init__(self, *args, causes: Causes, **kwargs):
        super().__init__(*args, **kwargs)
        self.causes = causes

    def before_render(self, request):
        jobs = {row.record.movement.job for row in self.paginated_rows} - {""}
        self.cause_of_job = self.causes(jobs)

    def render_date(self, value):
        if value.year != self.on.year:
            return self.day(value)
        return formats.brief_date(value, self.profile.locale)

    def render_entry(self, record):
        """Return what an entry is, what caused it, and the way to undo it where it can be undone here."""
        words = format_html_join(", ", "{}", ((word,) for word in self._entry_words(record)))
        if not self._can_undo(record):
            return words
        undo = reverse("stock:fact-reverse", args=[record.movement.pk])
        return format_html('{} <a href="{}">Undo</a>', words, undo)

    def _entry_words(self, record) -> list[str]:
        fact, words = record.movement, []
        if fact.kind != MovementKind.USE or fact.job not in self.cause_of_job:
            words.append(record.kind.capitalize())
        if fact.kind == MovementKind.REVERSAL:
            words.append(
                f"undoes the {fact.reverses.get_kind_display().lower()} of {self.day(fact.reverses.date)}"
            )
        if fact.job in self.cause_of_job:
            label, address = self.cause_of_job[fact.job]
            words.append(format_html('<a href="{}">{}</a>', address, label))
        if hasattr(fact, "purchase"):
            words += self._purchase_words(fact.purchase)
        if fact.note:
            words.append(fact.note)
        return words

    def _purchase_words(self, purchase: Purchase) -> list[str]:
        words = []
        if purchase.order_line:
            order = purchase.order_line.order
            words.append(
                format_html(
                    '<a href="{}">order of {}</a>', order.get_absolute_url(), self.day(order.ordered_on)
                )
            )
        words += [str(word) for word in (purchase.supplier, purchase.reference) if word]
        words += [f"lot {purchase.lot}"] if purchase.lot else []
        words += [f"use by {self.day(purchase.use_by)}"] if purchase.use_by else []
        return words

    def _can_undo(self, record) -> bool:
        """Whether an entry is undone here: not elsewhere, not twice, not from its second row."""
        fact = record.movement
        elsewhere = fact.kind in (MovementKind.USE, MovementKind.REVERSAL) or hasattr(fact, "reversal")
        second_row = record.kind == CORRECTION or (fact.kind == MovementKind.TRANSFER and record.quantity > 0)
        return not elsewhere and not second_row

    def render_quantity(self, value):
        return ("+" if value > 0 else "") + formats.quantity(value, self.profile.locale)

    def render_on_hand(self, value):
        return formats.quantity(value, self.profile.locale)

    def render_cost(self, value):
        return self.amount(value)

    render_value = render_cost
