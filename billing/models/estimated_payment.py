from django.db import models
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import Referenced, positive


class EstimatedPayment(Referenced):
    """Tax that was paid in ahead. It is set against what was put aside, and is no expense."""

    date = models.DateField(db_index=True)
    amount = ExactField()
    note = models.TextField(blank=True, default="")

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            positive("amount", "billing_estimatedpayment_amount_is_positive"),
        ]

    def __str__(self):
        return f"{self.amount} paid in, {self.date}"

    def get_absolute_url(self):
        return reverse("billing:estimated-change", args=[self.pk])
