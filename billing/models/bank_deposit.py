from django.db import models
from django.urls import reverse

from billing.models.payment import Payment
from practice.lib.queries import sum_of
from practice.lib.rows import Referenced, ReferencedQuerySet


class BankDepositQuerySet(ReferencedQuerySet):
    def for_list(self):
        """The latest first, each with `total`, the sum of its payments."""
        total = sum_of(Payment.objects.all(), "amount", per="deposit")
        return self.annotate(total=total).order_by("-date", "-pk")


class BankDeposit(Referenced):
    """Cash and checks that were taken to the bank together, on a day."""

    date = models.DateField(db_index=True)
    note = models.TextField(blank=True, default="")

    objects = BankDepositQuerySet.as_manager()

    def __str__(self):
        return f"Deposit of {self.date}"

    def get_absolute_url(self) -> str:
        return reverse("billing:deposit-detail", args=[self.pk])
