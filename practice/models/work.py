from decimal import Decimal

from django.db import models
from django.db.models import Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import Archivable, Identified, not_negative, positive
from practice.models.horse import Horse
from practice.models.visit import Visit
from stock.models import Item, Movement


class Foot(models.TextChoices):
    LF = "LF", "Left fore"
    RF = "RF", "Right fore"
    LH = "LH", "Left hind"
    RH = "RH", "Right hind"


class Service(Archivable):
    """What is done to a horse: a trim, a reset, fronts, a full set. Its price is billing's."""

    class Fitted(models.TextChoices):
        HOT = "hot", "Hot-fitted"
        COLD = "cold", "Cold-fitted"

    name = models.CharField(max_length=200)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    taxable = models.BooleanField(default=False)
    resets_cycle = models.BooleanField(default=True)
    new_shoes = models.PositiveSmallIntegerField(null=True, blank=True)
    feet_nailed = models.PositiveSmallIntegerField(null=True, blank=True)
    fitted = models.CharField(max_length=4, choices=Fitted, blank=True, default="")

    class Meta(Archivable.Meta):
        constraints = [
            *Archivable.Meta.constraints,
            models.CheckConstraint(
                condition=(Q(new_shoes__isnull=True) | Q(new_shoes__lte=4))
                & (Q(feet_nailed__isnull=True) | Q(feet_nailed__lte=4)),
                name="practice_service_has_up_to_four_feet",
            ),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("billing:service-prices", args=[self.pk])


class Work(Identified):
    """One service on one horse at a visit. `price` is per unit; none: the price list on the visit's date."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="work")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="work")
    service = models.ForeignKey(Service, on_delete=models.PROTECT, related_name="work")
    quantity = ExactField(default=Decimal(1))
    price = ExactField(null=True, blank=True)
    note = models.TextField(blank=True, default="")

    class Meta:
        constraints = [
            positive("quantity", "practice_work_quantity_is_positive"),
            not_negative("price", "practice_work_price_is_not_negative"),
        ]

    def __str__(self):
        return f"{self.service}, {self.horse}"


class MaterialUse(Identified):
    """Material used on one horse at a visit, in the item's unit; `foot` where it belongs to one.

    `movement` is the fact that took it off the shelf, once the visit is done. `price` is per unit;
    none: the item's sale price on the visit's date, and without one the price of the work covers it.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="materials")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="materials")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    quantity = ExactField()
    foot = models.CharField(max_length=2, choices=Foot, blank=True, default="")
    price = ExactField(null=True, blank=True)
    movement = models.OneToOneField(
        Movement, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            positive("quantity", "practice_materialuse_quantity_is_positive"),
            not_negative("price", "practice_materialuse_price_is_not_negative"),
        ]

    def __str__(self):
        return f"{self.quantity} {self.item}, {self.horse}"


class MaterialReturn(models.Model):
    """Whose visit and horse a fact of stock belongs to where it is no use: a return from a visit."""

    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="+")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="returns")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="returns")

    def __str__(self):
        return f"{self.movement}, {self.horse}"
