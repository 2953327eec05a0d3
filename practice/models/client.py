from datetime import date

from django.db import models
from django.db.models import Count, Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.names import town_of
from practice.lib.rows import Archivable, ArchivableQuerySet, not_negative, percent


class ClientQuerySet(ArchivableQuerySet):
    def for_list(self, on: date):
        """By name, with `horse_count`: horses in which they have a share on that day."""
        begun = Q(shares__valid_from__isnull=True) | Q(shares__valid_from__lte=on)
        not_ended = Q(shares__valid_to__isnull=True) | Q(shares__valid_to__gte=on)
        owned = Count("shares__horse", filter=begun & not_ended, distinct=True)
        return self.annotate(horse_count=owned).order_by("name", "pk")


class PlaceQuerySet(ArchivableQuerySet):
    def for_list(self):
        """By name, with `horse_count`: active horses that stand there."""
        active = Count("horses", filter=Q(horses__status="active"))
        return self.annotate(horse_count=active).order_by("name", "pk")


class Client(Archivable):
    """Who pays. `discount`: the percent that is taken off services and materials; None: none."""

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
    discount = ExactField(null=True, blank=True)
    tax_exempt = models.BooleanField(default=False)
    notes = models.TextField(blank=True, default="")

    objects = ClientQuerySet.as_manager()

    class Meta(Archivable.Meta):
        constraints = [
            *Archivable.Meta.constraints,
            percent("discount", "practice_client_discount_is_a_percent"),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("practice:client-detail", args=[self.pk])


class Place(Archivable):
    """A barn, yard or stable where horses stand; one place often has horses of several clients.

    `travel_rate` replaces the practice's, in currency per visit or per distance unit. `phone` is the barn's
    own, `gate_code` what opens the gate.
    """

    name = models.CharField(max_length=200)
    phone = models.CharField(max_length=60, blank=True, default="")
    gate_code = models.CharField(max_length=60, blank=True, default="")
    address = models.TextField(blank=True, default="")
    latitude = ExactField(null=True, blank=True)
    longitude = ExactField(null=True, blank=True)
    area = models.CharField(max_length=100, blank=True, default="")
    travel_rate = ExactField(null=True, blank=True)
    notes = models.TextField(blank=True, default="")

    objects = PlaceQuerySet.as_manager()

    class Meta(Archivable.Meta):
        constraints = [
            *Archivable.Meta.constraints,
            not_negative("travel_rate", "practice_place_travel_rate_is_not_negative"),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("practice:place-detail", args=[self.pk])

    @property
    def town(self) -> str:
        """The town in its address, blank where there is none."""
        return town_of(self.address)
