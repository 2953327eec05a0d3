from datetime import date, timedelta
from decimal import Decimal

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.queries import sum_of
from practice.lib.rows import Referenced, ReferencedQuerySet, not_negative, positive
from stock.models.item import Item
from stock.models.movement import Purchase
from stock.models.supplier import Supplier


class OrderQuerySet(ReferencedQuerySet):
    def with_open(self):
        """Annotate `is_open`: something of it is still to come."""
        return self.annotate(is_open=Exists(OrderLine.objects.open().filter(order=OuterRef("pk"))))

    def open(self):
        """Orders of which something is still to come."""
        return self.with_open().filter(is_open=True)

    def matching(self, words: str):
        """Orders whose number or supplier's name holds these words; all orders where there are none."""
        return self.filter(Q(ref__icontains=words) | Q(supplier__name__icontains=words)) if words else self

    def for_list(self):
        """Orders as their list shows them: open ones first, each group with the latest first."""
        rows = self.with_open().annotate(line_count=models.Count("lines")).select_related("supplier")
        return rows.order_by("-is_open", "-ordered_on", "-pk")


class Order(Referenced):
    """What was ordered from a supplier on a day. It is open while something of it is still to come.

    `expected_on` is the day that the supplier promised; None: by the lead time of each item.
    """

    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="orders"
    )
    ordered_on = models.DateField()
    expected_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True, default="")

    objects = OrderQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            models.CheckConstraint(
                condition=Q(expected_on__isnull=True) | Q(expected_on__gte=F("ordered_on")),
                name="stock_order_is_expected_after_it_was_placed",
            ),
        ]

    def __str__(self):
        return f"Order {self.key}"

    def get_absolute_url(self):
        return reverse("stock:order-detail", args=[self.pk])

    @property
    def title(self) -> str:
        """`Order O-2026-0007, Tarn Iron`."""
        return f"{self}, {self.supplier}" if self.supplier else str(self)


class OrderLineQuerySet(models.QuerySet):
    def with_received(self, through: date | None = None):
        """Annotate `received`, in units: what came by the end of a day, 0 if nothing; None: what came so far.

        A receipt that was undone (by that day) did not come.
        """
        standing = Q(movement__reversal__isnull=True)
        receipts = Purchase.objects.filter(standing)
        if through is not None:
            receipts = Purchase.objects.filter(
                standing | Q(movement__reversal__date__gt=through), movement__date__lte=through
            )
        return self.annotate(received=sum_of(receipts, "movement__quantity", per="order_line"))

    def open(self, through: date | None = None):
        """Lines of which something is still to come, with `received`."""
        return self.with_received(through).filter(quantity__gt=F("received") + F("cancelled"))

    def for_detail(self):
        """Lines in order of entry, with `received` and their items."""
        return self.with_received().with_lead_times().order_by("pk")

    def with_lead_times(self):
        """Lines with all that says when they are expected, in one row."""
        return self.select_related("item__supplier", "order__supplier")


class OrderLine(models.Model):
    """So many packs of an item on an order, of the pack size that held when it was ordered.

    `quantity` (packs × pack size) and `cancelled` are in the item's unit: SQL adds and compares them, and
    multiplies nothing. `unit_price` is what one unit is expected to cost, without freight and tax.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="order_lines")
    quantity = ExactField()
    pack_size = ExactField()
    unit_price = ExactField(null=True, blank=True)
    cancelled = ExactField(default=Decimal(0))

    objects = OrderLineQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "item"], name="stock_orderline_names_an_item_once"),
            positive("quantity", "stock_orderline_quantity_is_positive"),
            positive("pack_size", "stock_orderline_pack_size_is_positive"),
            not_negative("unit_price", "stock_orderline_unit_price_is_not_negative"),
            models.CheckConstraint(
                condition=Q(cancelled__gte=0) & Q(cancelled__lte=F("quantity")),
                name="stock_orderline_cancelled_is_at_most_all",
            ),
        ]

    def __str__(self):
        return f"{self.packs} × {self.item}"

    @property
    def packs(self) -> int:
        return int(self.quantity / self.pack_size)

    @property
    def wanted(self) -> Decimal:
        """Units ordered and not canceled."""
        return self.quantity - self.cancelled

    @property
    def to_come(self) -> Decimal:
        """Units still to come, never below 0; of a line fetched `with_received()`."""
        return max(self.wanted - self.received, Decimal(0))

    def expected_on(self, lead_time_days: int) -> date:
        """Return the day it is expected: the order's, else by its lead time, at last the practice's days."""
        if self.order.expected_on:
            return self.order.expected_on
        days = self.item.lead_time(lead_time_days, self.order.supplier)
        return self.order.ordered_on + timedelta(days=days)
