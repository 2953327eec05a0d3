from django.db import models
from django.db.models import Case, F, Q, When
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.periods import Period
from practice.lib.rows import NamedQuerySet, Referenced, not_negative


class EquipmentQuerySet(NamedQuerySet):
    def in_use(self):
        """Those that are not sold, scrapped or lost."""
        return self.filter(disposed_on__isnull=True)

    def bought_or_sold(self, period: Period):
        """Those that came into use or went on the days of a period."""
        days = (period.begin, period.end)
        came_or_went = Q(placed_in_service__range=days) | Q(disposed_on__range=days)
        return self.filter(came_or_went).order_by("placed_in_service", "pk")

    def for_list(self):
        """Those in use first, the latest before the others; `is_in_use` is 1 or 0."""
        rows = self.annotate(is_in_use=Case(When(disposed_on__isnull=True, then=1), default=0))
        return rows.order_by("-is_in_use", "-placed_in_service", "-pk")


class Equipment(Referenced):
    """A tool or a piece of equipment: since when it is in use, what it cost, and what became of it.

    A list for the tax preparer; no depreciation is worked out. `disposed_for` is what it sold for, 0
    where it was thrown away.
    """

    name = models.CharField(max_length=200)
    placed_in_service = models.DateField()
    cost = ExactField()
    disposed_on = models.DateField(null=True, blank=True)
    disposed_for = ExactField(null=True, blank=True)
    note = models.TextField(blank=True, default="")

    objects = EquipmentQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            not_negative("cost", "billing_equipment_cost_is_not_negative"),
            not_negative("disposed_for", "billing_equipment_disposed_for_is_not_negative"),
            models.CheckConstraint(
                condition=Q(disposed_on__isnull=True) | Q(disposed_on__gte=F("placed_in_service")),
                name="billing_equipment_goes_after_it_came",
                violation_error_message="This day is before it was in use.",
            ),
            models.CheckConstraint(
                condition=Q(disposed_for__isnull=True) | Q(disposed_on__isnull=False),
                name="billing_equipment_brings_money_when_it_goes",
                violation_error_message="Enter the day it was sold.",
            ),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("billing:equipment-change", args=[self.pk])
