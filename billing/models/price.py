from datetime import date

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from billing.models.rate_state import with_state
from practice.lib.fields import ExactField
from practice.lib.rows import not_negative
from practice.models import Service
from stock.models import Item


class PriceQuerySet(models.QuerySet):
    def for_list(self):
        """The latest first."""
        return self.order_by("-valid_from", "-pk")


class Price(models.Model):
    """The price of one unit of a service or an item, from a day on, in the practice's currency."""

    service = models.ForeignKey(
        Service, null=True, blank=True, on_delete=models.PROTECT, related_name="prices"
    )
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.PROTECT, related_name="prices")
    valid_from = models.DateField()
    price = ExactField()

    objects = PriceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(service__isnull=True, item__isnull=False)
                | Q(service__isnull=False, item__isnull=True),
                name="billing_price_is_of_a_service_or_an_item",
            ),
            not_negative("price", "billing_price_is_not_negative"),
        ]

    def __str__(self):
        return f"{self.service or self.item} {self.price} from {self.valid_from}"


class TaxRateQuerySet(models.QuerySet):
    def for_list(self, on: date):
        """Those in force on a day first, with their `state` on it; by name and area, the latest first."""
        return with_state(self, on, ("name", "area"), ends=True).order_by(
            "state", "name", "area", "-valid_from", "-pk"
        )


class TaxRate(models.Model):
    """A tax in percent from a day on, in an area (blank: everywhere).

    It ends on `valid_to`, or the day before the next row of its name and area.
    """

    name = models.CharField(max_length=100)
    valid_from = models.DateField()
    rate = ExactField()
    valid_to = models.DateField(null=True, blank=True)
    area = models.CharField(max_length=100, blank=True, default="")

    objects = TaxRateQuerySet.as_manager()

    class Meta:
        constraints = [
            not_negative("rate", "billing_taxrate_is_not_negative"),
            models.CheckConstraint(
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=F("valid_from")),
                name="billing_taxrate_ends_after_it_begins",
            ),
        ]

    def __str__(self):
        return f"{self.name} {self.rate} %"

    def get_absolute_url(self):
        return reverse("billing:tax-rate-change", args=[self.pk])
