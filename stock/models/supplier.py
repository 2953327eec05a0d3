from django.db import models

from practice.lib.rows import Archivable, Referenced


class Supplier(Archivable):
    """Who the practice buys shoes, nails and the rest from."""

    name = models.CharField(max_length=200)
    email = models.CharField(max_length=254, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    lead_time_days = models.PositiveIntegerField(null=True, blank=True)

    def __str__(self):
        return self.name


class Location(Referenced):
    """Where stock lies: a truck or the shop. Without any there is one shelf.

    A truck's vehicle points here (`practice.Vehicle.location`).
    """

    name = models.CharField(max_length=200)

    def __str__(self):
        return self.name
