from decimal import Decimal
from urllib.parse import urlencode

from django.db import models
from django.db.models import Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import Archivable, ArchivableQuerySet, not_negative, positive
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

    @property
    def plural(self) -> str:
        """What a heading calls items of this kind: `Shoes`, `Forge fuel`."""
        counted = (self.SHOE, self.NAIL, self.PAD, self.SEALANT, self.ADHESIVE, self.STUD)
        return f"{self.label}s" if self in counted else self.label


# The unit of what is counted one by one.
SINGLY = "each"
# These expire: a delivery of them has a lot and a use-by date.
WITH_LOTS = (ItemKind.SEALANT, ItemKind.ADHESIVE)


class Fits(models.TextChoices):
    FRONT = "front", "Front"
    HIND = "hind", "Hind"
    ANY = "any", "Front or hind"


class Side(models.TextChoices):
    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    ANY = "any", "Left or right"


class ItemQuerySet(ArchivableQuerySet):
    def in_order(self):
        """Items in order of entry."""
        return self.order_by("pk")

    def for_truck(self, archived: bool):
        """The items of the truck's page: those in use, or the archived ones."""
        return self.filter(archived=archived).in_order()

    def for_detail(self):
        """Items with all that their page shows of other tables in one row."""
        return self.select_related("supplier", "shelf")


class Item(Archivable):
    """Something that is stocked, by pattern and size. Quantities are in its `unit`, never in packs.

    `material` and `clips` are in the farrier's words, such as `steel` and `side clips`; `shelf_order` is its
    position on the shelf where that is not the trade's order.
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

    objects = ItemQuerySet.as_manager()

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

    def get_absolute_url(self):
        return reverse("stock:item-detail", args=[self.pk])

    def get_order_url(self) -> str:
        """Return the address of a new order of one pack of it, from its supplier where it has one."""
        query = {"supplier": self.supplier_id} if self.supplier_id else {}
        return f"{reverse('stock:order-add')}?{urlencode(query | {'item': self.pk})}"

    def lead_time(self, of_practice: int, supplier: Supplier | None = None) -> int:
        """Return the days until a delivery comes: its own, else the supplier's, else the practice's.

        `supplier` is who delivers; None: the one it usually comes from.
        """
        if self.lead_time_days is not None:
            return self.lead_time_days
        supplier = supplier or self.supplier
        if supplier and supplier.lead_time_days is not None:
            return supplier.lead_time_days
        return of_practice

    @property
    def has_lots(self) -> bool:
        """Whether it expires, so that the lot and the use-by date of a delivery are asked for."""
        return self.kind in WITH_LOTS

    @property
    def is_counted_singly(self) -> bool:
        """Whether its quantities are whole numbers: shoes and nails, not milliliters."""
        return self.unit == SINGLY

    @property
    def per_unit(self) -> str:
        """What stands after the price of one unit: `each`, `per ml`."""
        return self.unit if self.unit == "each" else f"per {self.unit}"

    @property
    def size_and_side(self) -> str:
        """`No 2, left`; blank where it has neither size nor side."""
        size = f"No {self.size}" if self.size else ""
        side = "" if self.side == Side.ANY else self.get_side_display().lower()
        return ", ".join(word for word in (size, side) if word)

    @property
    def description(self) -> str:
        """`Shoe, No 2, archived`."""
        words = (self.get_kind_display(), self.size_and_side, "archived" if self.archived else "")
        return ", ".join(word for word in words if word)
