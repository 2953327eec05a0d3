from decimal import Decimal

from django.db import models
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import Referenced, ReferencedQuerySet, positive
from practice.models import Client, Visit


class ChargeQuerySet(ReferencedQuerySet):
    def uninvoiced(self):
        """Those that wait for their client's invoice."""
        return self.filter(line=None)

    def for_list(self):
        """The latest first, with what a row of a list shows."""
        return self.select_related("client", "visit__place", "line__invoice").order_by("-date", "-pk")


class Charge(Referenced):
    """A line of its own on a client's invoice: quantity × unit price, not shared; below zero a discount.

    `visit` is what it is about: the area of its place says which taxes apply.
    """

    class Kind(models.TextChoices):
        NO_SHOW = "no_show", "No-show"
        AFTER_HOURS = "after_hours", "After hours"
        LATE_FEE = "late_fee", "Late fee"
        BOUNCED_CHECK = "bounced_check", "Bounced check"
        DISCOUNT = "discount", "Discount"
        OTHER = "other", "Other"

    date = models.DateField(db_index=True)
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="charges")
    name = models.CharField(max_length=200)
    quantity = ExactField(default=Decimal(1))
    unit_price = ExactField()
    taxable = models.BooleanField(default=False)
    visit = models.ForeignKey(Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="charges")
    kind = models.CharField(max_length=20, choices=Kind, default=Kind.OTHER)

    objects = ChargeQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            positive("quantity", "billing_charge_quantity_is_positive"),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("billing:charge-change", args=[self.pk])

    @property
    def invoice(self):
        """The invoice that it is on; None while it waits."""
        line = getattr(self, "line", None)
        return line.invoice if line else None
