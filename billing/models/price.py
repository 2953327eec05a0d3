from datetime import date

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from billing.models.rate_state import with_state
from billing.rules.pricing import DatedPrice
from practice.lib.fields import ExactField
from practice.lib.periods import FIRST_DAY
from practice.lib.rows import not_negative
from practice.models import Client, Horse, Place, Service
from stock.models import Item


class PriceQuerySet(models.QuerySet):
    def for_list(self):
        """The latest first."""
        return self.order_by("-valid_from", "-pk")

    def general(self):
        """Those for everybody."""
        return self.filter(horse=None, client=None, place=None)

    def special(self):
        """Those for one horse, client or place, the latest first, with all that they name."""
        of_one = Q(horse__isnull=False) | Q(client__isnull=False) | Q(place__isnull=False)
        return self.filter(of_one).select_related("service", "item", "horse", "client", "place").for_list()


class Price(models.Model):
    """The price of one unit of a service or an item, from a day on, in the practice's currency.

    A special price is for one horse, for one client where that client alone pays, or for one place.
    """

    service = models.ForeignKey(
        Service, null=True, blank=True, on_delete=models.PROTECT, related_name="prices"
    )
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.PROTECT, related_name="prices")
    valid_from = models.DateField()
    price = ExactField()
    horse = models.ForeignKey(Horse, null=True, blank=True, on_delete=models.PROTECT, related_name="prices")
    client = models.ForeignKey(Client, null=True, blank=True, on_delete=models.PROTECT, related_name="prices")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.PROTECT, related_name="prices")

    objects = PriceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(service__isnull=True, item__isnull=False)
                | Q(service__isnull=False, item__isnull=True),
                name="billing_price_is_of_a_service_or_an_item",
            ),
            not_negative("price", "billing_price_is_not_negative"),
            models.CheckConstraint(
                condition=Q(horse__isnull=True, client__isnull=True)
                | Q(horse__isnull=True, place__isnull=True)
                | Q(client__isnull=True, place__isnull=True),
                name="billing_price_is_special_for_one_thing",
            ),
        ]

    def __str__(self):
        return f"{self.thing} {self.price} from {self.valid_from}"

    @property
    def thing(self) -> Service | Item:
        """The service or item that it is the price of."""
        return self.service or self.item

    @property
    def whose(self) -> Horse | Client | Place | None:
        """Whom a special price is for."""
        return self.horse or self.client or self.place

    @property
    def is_from_the_beginning(self) -> bool:
        """Whether it holds from the first day that a book is about."""
        return self.valid_from == FIRST_DAY

    def as_dated(self) -> DatedPrice:
        return DatedPrice(self.valid_from, self.price, self.horse_id, self.client_id, self.place_id)


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
