from decimal import Decimal
from functools import reduce
from operator import or_

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.db.models.expressions import RawSQL

from practice.lib.fields import ExactField
from practice.lib.rows import not_negative
from stock.models.item import Item
from stock.models.supplier import Location, Supplier


class MovementKind(models.TextChoices):
    RECEIPT = "receipt", "Receipt"
    VISIT_RETURN = "visit return", "Return from a visit"
    USE = "use", "Use"
    SUPPLIER_RETURN = "supplier return", "Return to a supplier"
    WASTE = "waste", "Waste"
    WITHDRAWAL = "withdrawal", "Withdrawal (own horses)"
    TRANSFER = "transfer", "Transfer"
    COUNT = "count", "Count"
    REVERSAL = "reversal", "Reversal"


ORDER = ("date", "rank", "cause_order", "pk")


def beyond(position: tuple, comparison: str, prefix: str = "") -> Q:
    """Return the condition that a fact stands before (`lt`) or after (`gt`) a position in ledger order."""
    condition, same = Q(), {}
    for name, value in zip(ORDER, position, strict=True):
        condition |= Q(**same, **{f"{prefix}{name}__{comparison}": value})
        same[f"{prefix}{name}"] = value
    # The day by itself lets the index be used.
    return Q(**{f"{prefix}date__{comparison}e": position[0]}) & condition


class MovementQuerySet(models.QuerySet):
    def in_order(self):
        """Facts in ledger order: date, order within the day, order of entry."""
        return self.order_by(*ORDER)

    def after(self, position: tuple):
        """Facts that stand after a position in ledger order: date, rank, cause_order, key."""
        return self.filter(beyond(position, "gt"))

    def costed(self):
        """Facts that the costing sees: a pair of fact and reversal of one day is left out."""
        same_day_reversals = Movement.objects.filter(reverses=OuterRef("pk"), date=OuterRef("date"))
        return (
            self.select_related("reverses")
            .exclude(reverses__isnull=False, reverses__date=F("date"))
            .filter(~Exists(same_day_reversals))
        )

    def standing(self):
        """Facts that were not undone and undo nothing."""
        return self.filter(reversal__isnull=True, reverses__isnull=True)

    def counts(self):
        """Counts, by their own index: SQLite takes it only where it sees its condition, not a parameter."""
        return self.filter(kind=RawSQL(f"'{MovementKind.COUNT}'", ()))

    def for_detail(self):
        """Facts with all that the page shows on which they are undone."""
        return self.select_related("item", "location", "to_location", "purchase__supplier")


class Movement(models.Model):
    """A fact of the ledger: added, never changed or deleted (a trigger in the database refuses it).

    `quantity` is in the item's unit and never negative; a count's is what was counted. `rank` is the
    order of its kind within a day; `cause_order` is the order of entry of its cause (for a use: its
    visit), 0 where the row's own key says enough. `job` is an opaque key that a use and the returns of
    what it took share (the horse at its visit).
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="movements")
    date = models.DateField()
    kind = models.CharField(max_length=20, choices=MovementKind)
    quantity = ExactField()
    unit_cost = ExactField(null=True, blank=True)
    location = models.ForeignKey(Location, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    to_location = models.ForeignKey(
        Location, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    job = models.CharField(max_length=60, blank=True, default="")
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversal"
    )
    rank = models.PositiveSmallIntegerField()
    cause_order = models.BigIntegerField(default=0)
    note = models.TextField(blank=True, default="")
    recorded_at = models.DateTimeField(auto_now_add=True)

    objects = MovementQuerySet.as_manager()

    class Meta:
        constraints = [
            not_negative("quantity", "stock_movement_quantity_is_not_negative"),
            not_negative("unit_cost", "stock_movement_unit_cost_is_not_negative"),
            models.CheckConstraint(
                condition=Q(kind=MovementKind.REVERSAL, reverses__isnull=False)
                | (~Q(kind=MovementKind.REVERSAL) & Q(reverses__isnull=True)),
                name="stock_movement_reversal_names_its_fact",
            ),
            models.CheckConstraint(
                condition=~Q(kind=MovementKind.RECEIPT) | Q(unit_cost__isnull=False),
                name="stock_movement_receipt_has_a_cost",
            ),
        ]
        indexes = [
            models.Index(
                fields=["item", "date", "rank", "cause_order", "id"], name="stock_movement_in_order"
            ),
            models.Index(
                fields=["item", "date"],
                condition=Q(kind=MovementKind.COUNT),
                name="stock_movement_that_counts",
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()}, {self.quantity} {self.item}, {self.date}"


class PurchaseQuerySet(models.QuerySet):
    def of_orders(self):
        """Receipts of orders, each with its fact and its order."""
        return self.filter(order_line__isnull=False).select_related("movement", "order_line__order")


class Purchase(models.Model):
    """What is known of a receipt besides the fact: who delivered it, for which order, and when it was paid.

    `lot` and `use_by`, the last day on which it may be used, are of sealants and adhesives.
    """

    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="purchase")
    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="purchases"
    )
    reference = models.CharField(max_length=200, blank=True, default="")
    paid_on = models.DateField(null=True, blank=True)
    order_line = models.ForeignKey(
        "stock.OrderLine", null=True, blank=True, on_delete=models.PROTECT, related_name="receipts"
    )
    lot = models.CharField(max_length=60, blank=True, default="")
    use_by = models.DateField(null=True, blank=True)

    objects = PurchaseQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(
                fields=["use_by"], condition=Q(use_by__isnull=False), name="stock_purchase_that_goes_off"
            ),
            models.Index(
                fields=["paid_on"], condition=Q(paid_on__isnull=False), name="stock_purchase_by_payment"
            ),
        ]

    def __str__(self):
        return self.reference or str(self.movement)


class ValuationQuerySet(models.QuerySet):
    def matching(self, words: str):
        """Rows whose kind, note, supplier, packing slip or lot holds these words; all rows for none."""
        searched = ("kind", "movement__note", "movement__purchase__supplier__name")
        searched += ("movement__purchase__reference", "movement__purchase__lot")
        found = [Q(**{f"{name}__icontains": words}) for name in searched]
        return self.filter(reduce(or_, found)) if words else self

    def for_list(self):
        """Rows with all that one line of a ledger's page shows, the latest first."""
        rows = self.select_related(
            "location",
            "movement__reverses",
            "movement__reversal",
            "movement__purchase__supplier",
            "movement__purchase__order_line__order",
        )
        return rows.order_by("-position")


class Valuation(models.Model):
    """One row of an item's ledger: what a fact moved and cost, and what was left after it.

    Worked out from the facts by date and stored beside them; written again from the position where a
    fact is entered before others. A transfer has two rows, a receipt may have a correction after it.
    `quantity` and `cost` carry their sign; `cost` and `value` have four decimals.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="ledger")
    position = models.BigIntegerField()
    movement = models.ForeignKey(Movement, on_delete=models.PROTECT, related_name="valuations")
    kind = models.CharField(max_length=20)
    location = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="+")
    quantity = ExactField()
    cost = ExactField()
    on_hand = ExactField()
    value = ExactField()

    objects = ValuationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "position"], name="stock_valuation_has_one_place"),
        ]

    def __str__(self):
        return f"{self.kind} {self.quantity} {self.item}"


class Shelf(models.Model):
    """Where the costing of an item stands after its last fact, so that the next one goes on from there.

    `state` is what `stock.rules.costing` needs to resume; `through` is the last fact in ledger order.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="shelf")
    on_hand = ExactField(default=Decimal(0))
    value = ExactField(default=Decimal(0))
    positions = models.BigIntegerField(default=0)
    through = models.ForeignKey(Movement, null=True, on_delete=models.PROTECT, related_name="+")
    state = models.JSONField(default=dict)

    def __str__(self):
        return f"{self.on_hand} {self.item}"


class CheckpointQuerySet(models.QuerySet):
    def before(self, position: tuple):
        """Checkpoints whose last fact stands before a position in ledger order."""
        return self.filter(beyond(position, "lt", "through__"))


class Checkpoint(models.Model):
    """Where the costing of an item stood after some fact: one entered for an earlier day goes on from there.

    `through` is that fact, `positions` the rows of the ledger up to it, `state` as in `Shelf`.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="checkpoints")
    positions = models.BigIntegerField()
    through = models.ForeignKey(Movement, on_delete=models.PROTECT, related_name="+")
    state = models.JSONField()

    objects = CheckpointQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "positions"], name="stock_checkpoint_has_one_place"),
        ]

    def __str__(self):
        return f"{self.item} after {self.positions} rows"


class Balance(models.Model):
    """How much of an item is at one location (none: the one shelf), stored beside the facts."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="balances")
    location = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="balances")
    quantity = ExactField(default=Decimal(0))

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "location"], name="stock_balance_of_a_location"),
            models.UniqueConstraint(
                fields=["item"], condition=Q(location__isnull=True), name="stock_balance_of_the_shelf"
            ),
        ]

    def __str__(self):
        return f"{self.quantity} {self.item}"
