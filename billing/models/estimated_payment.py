from django.db import models
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.periods import Period
from practice.lib.rows import Referenced, ReferencedQuerySet, positive


class EstimatedPaymentQuerySet(ReferencedQuerySet):
    def within(self, period: Period):
        """Payments of these days, the earliest first."""
        return self.filter(date__gte=period.begin, date__lte=period.end).order_by("date", "pk")


class EstimatedPayment(Referenced):
    """Estimated tax that was paid. It counts against what was set aside, and is not an expense."""

    date = models.DateField(db_index=True)
    amount = ExactField()
    note = models.TextField(blank=True, default="")

    objects = EstimatedPaymentQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            positive("amount", "billing_estimatedpayment_amount_is_positive"),
        ]

    def __str__(self):
        return f"{self.amount} of estimated tax, {self.date}"

    def get_absolute_url(self):
        return reverse("billing:estimated-change", args=[self.pk])
