from django.db import models
from django.db.models import Count, Q
from django.urls import reverse

from practice.lib import formats
from practice.lib.rows import Archivable, ArchivableQuerySet, Referenced, ReferencedQuerySet


class SupplierQuerySet(ArchivableQuerySet):
    def for_list(self):
        """Suppliers in use, by name."""
        return self.current().order_by("name", "pk")


class Supplier(Archivable):
    """Who the practice buys shoes, nails and the rest from."""

    name = models.CharField(max_length=200)
    email = models.CharField(max_length=254, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    lead_time_days = models.PositiveIntegerField(null=True, blank=True)

    objects = SupplierQuerySet.as_manager()

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("stock:supplier-change", args=[self.pk])

    @property
    def delivers(self) -> str:
        """`Delivers in 7 days`; blank where the lead time is unknown."""
        if self.lead_time_days is None:
            return ""
        return (
            f"Delivers in {formats.counted(self.lead_time_days, 'day')}"
            if self.lead_time_days
            else "Delivers the same day"
        )


class LocationQuerySet(ReferencedQuerySet):
    def in_order(self):
        """Locations in order of entry: what names no location is at the first."""
        return self.order_by("pk")

    def for_list(self):
        """Annotate `in_stock`, the number of items of which there is something there, and `below` zero."""
        return self.annotate(
            in_stock=Count("balances", filter=Q(balances__quantity__gt=0)),
            below=Count("balances", filter=Q(balances__quantity__lt=0)),
        ).in_order()


class Location(Referenced):
    """Where stock is kept: a truck or the shop. Without any there is one shelf.

    A truck's vehicle points here (`practice.Vehicle.location`).
    """

    name = models.CharField(max_length=200)

    objects = LocationQuerySet.as_manager()

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("stock:location-change", args=[self.pk])
