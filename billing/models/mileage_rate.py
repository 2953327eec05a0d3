from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from billing.models.rate_state import with_state
from billing.rules.mileage_rates import Rate
from practice.lib.countries import mileage_schemes
from practice.lib.fields import ExactField
from practice.lib.rows import not_negative
from practice.lib.units import DISTANCE_UNITS


class MileageRateQuerySet(models.QuerySet):
    def of_scheme(self, scheme: str):
        """Rates of a mileage scheme, the first day first, the lowest tier first."""
        return self.filter(scheme=scheme).order_by("valid_from", "tier_from")

    def for_list(self, on: date):
        """Those in force on a day first, with their `state` on it; then the latest, the lowest tier first."""
        rows = with_state(self, on, ("scheme", "tier_from"), ends=False)
        return rows.order_by("state", "-valid_from", "tier_from")

    def as_rates(self) -> list[Rate]:
        """Return them as the plain values that `billing.rules` work with."""
        return [Rate(row.valid_from, row.valid_to, row.tier_from, row.rate) for row in self]

    def own(self):
        """Rates that the practice added or changed."""
        return self.filter(from_program=False)


class MileageRate(models.Model):
    """What a business mile or kilometer is worth from a day on, above a distance in the year.

    It ends on `valid_to`, or the day before the next row of its scheme and tier. `from_program`: as
    the program brought it; a row that the practice added or changed is its own. `certainty` says how
    surely the source was read; the practice's own rows have none.
    """

    scheme = models.CharField(max_length=20)
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    tier_from = ExactField(default=Decimal(0))
    rate = ExactField()
    source = models.CharField(max_length=300, blank=True, default="")
    certainty = models.CharField(max_length=200, blank=True, default="")
    from_program = models.BooleanField(default=False, editable=False)

    objects = MileageRateQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["scheme", "valid_from", "tier_from"],
                name="billing_mileagerate_is_one_a_day_and_tier",
                violation_error_message="There is already a rate from that day and distance. Change it.",
            ),
            models.CheckConstraint(
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=F("valid_from")),
                name="billing_mileagerate_ends_after_it_begins",
                violation_error_message="This day is before the first one.",
            ),
            not_negative("tier_from", "billing_mileagerate_tier_is_not_negative"),
            not_negative("rate", "billing_mileagerate_is_not_negative"),
        ]

    def __str__(self):
        return f"{self.rate} a {self.unit_word} from {self.valid_from}"

    def get_absolute_url(self):
        return reverse("billing:mileage-rate-change", args=[self.pk])

    @property
    def unit_word(self) -> str:
        """What the rate is for one of: `mile` or `kilometer`."""
        return DISTANCE_UNITS[mileage_schemes()[self.scheme].unit].one
