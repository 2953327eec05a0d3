from decimal import Decimal

from django.db import models
from django.db.models import Q

from practice.lib.fields import ExactField
from practice.lib.rows import Archivable, not_negative, positive
from stock.models.supplier import Supplier


class ItemKind(models.TextChoices):
    SHOE = "shoe", "Shoe"
    NAIL = "nail", "Nail"
    PAD = "pad", "Pad"
    PACKING = "packing", "Packing"
    SEALANT = "sealant", "Sealant"
    ADHESIVE = "adhesive", "Adhesive"
    STUD = "stud", "Stud"
    BAR_STOCK = "bar stock", "Bar stock"
    CASTING = "casting", "Casting"
    FUEL = "fuel", "Forge fuel"
    OTHER = "other", "Other"


# What goes off: its lot and use-by date are asked for.
WITH_LOTS = (ItemKind.SEALANT, ItemKind.ADHESIVE)


class Fits(models.TextChoices):
    FRONT = "front", "Front"
    HIND = "hind", "Hind"
    ANY = "any", "Front or hind"


class Side(models.TextChoices):
    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    ANY = "any", "Left or right"


class Item(Archivable):
    """One thing that is kept on the shelf, by pattern and size. Quantities are in its `unit`, singly.

    `material` and `clips` are in the farrier's words, such as `steel` and `side clips`; `shelf_order` is its
    place on the shelf where that is not the trade's order.
    """

    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=20, choices=ItemKind)
    pattern = models.CharField(max_length=100, blank=True, default="")
    size = models.CharField(max_length=40, blank=True, default="")
    fits = models.CharField(max_length=5, choices=Fits, default=Fits.ANY)
    side = models.CharField(max_length=5, choices=Side, default=Side.ANY)
    unit = models.CharField(max_length=20, default="each")
    pack_size = ExactField(default=Decimal(1))
    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="items"
    )
    lead_time_days = models.PositiveIntegerField(null=True, blank=True)
    service_level = ExactField(default=Decimal("0.95"))
    sale_price = ExactField(null=True, blank=True)
    taxable = models.BooleanField(default=False)
    material = models.CharField(max_length=40, blank=True, default="")
    clips = models.CharField(max_length=40, blank=True, default="")
    shelf_order = models.PositiveIntegerField(null=True, blank=True)

    class Meta(Archivable.Meta):
        constraints = [
            *Archivable.Meta.constraints,
            positive("pack_size", "stock_item_pack_size_is_positive"),
            not_negative("sale_price", "stock_item_sale_price_is_not_negative"),
            models.CheckConstraint(
                condition=Q(service_level__gte=0) & Q(service_level__lt=1),
                name="stock_item_service_level_is_below_1",
            ),
        ]

    def __str__(self):
        return self.name

    @property
    def has_lots(self) -> bool:
        """Whether it goes off, so that the lot of a delivery and its use-by date are asked for."""
        return self.kind in WITH_LOTS
