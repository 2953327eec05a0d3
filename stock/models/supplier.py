from django.db import models
from django.db.models import Count, Q

from practice.lib.rows import Archivable, Referenced, ReferencedQuerySet


class Supplier(Archivable):
    """Who the practice buys shoes, nails and the rest from."""

    name = models.CharField(max_length=200)
    email = models.CharField(max_length=254, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    lead_time_days = models.PositiveIntegerField(null=True, blank=True)

    def __str__(self):
        return self.name


class LocationQuerySet(ReferencedQuerySet):
    def with_kept(self):
        """Annotate `kept`: of how many items there is something there, and `below` zero of how many."""
        return self.annotate(
            kept=Count("balances", filter=Q(balances__quantity__gt=0)),
            below=Count("balances", filter=Q(balances__quantity__lt=0)),
        )


class Location(Referenced):
    """Where stock lies: a truck or the shop. Without any there is one shelf.

    A truck's vehicle points here (`practice.Vehicle.location`).
    """

    name = models.CharField(max_length=200)

    objects = LocationQuerySet.as_manager()

    def __str__(self):
        return self.name
