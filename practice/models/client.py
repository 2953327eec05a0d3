from django.db import models

from practice.lib.fields import ExactField
from practice.lib.rows import Archivable, not_negative


class Client(Archivable):
    """Who pays."""

    class Billing(models.TextChoices):
        PER_DAY = "per_day", "One invoice a day"
        MONTHLY = "monthly", "One invoice a month"

    name = models.CharField(max_length=200)
    email = models.CharField(max_length=254, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    address = models.TextField(blank=True, default="")
    language = models.CharField(max_length=35, blank=True, default="")
    payment_terms_days = models.PositiveIntegerField(null=True, blank=True)
    billing = models.CharField(max_length=10, choices=Billing, default=Billing.PER_DAY)
    tax_exempt = models.BooleanField(default=False)
    notes = models.TextField(blank=True, default="")

    def __str__(self):
        return self.name


class Place(Archivable):
    """A barn, yard or stable where horses stand; one place often has horses of several clients.

    `travel_rate` replaces the practice's, in currency per visit or per distance unit.
    """

    name = models.CharField(max_length=200)
    address = models.TextField(blank=True, default="")
    latitude = ExactField(null=True, blank=True)
    longitude = ExactField(null=True, blank=True)
    area = models.CharField(max_length=100, blank=True, default="")
    travel_rate = ExactField(null=True, blank=True)
    notes = models.TextField(blank=True, default="")

    class Meta(Archivable.Meta):
        constraints = [
            *Archivable.Meta.constraints,
            not_negative("travel_rate", "practice_place_travel_rate_is_not_negative"),
        ]

    def __str__(self):
        return self.name
