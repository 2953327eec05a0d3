from django.db import models
from django.db.models import Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.periods import Period, tax_year_of
from practice.lib.rows import Referenced, ReferencedQuerySet, positive


class EstimatedPaymentQuerySet(ReferencedQuerySet):
    def of_tax_year(self, year: int, period: Period):
        """Payments for the tax year that begins in `year`, whose days are `period`; the earliest first."""
        of_these_days = Q(tax_year__isnull=True, date__gte=period.begin, date__lte=period.end)
        return self.filter(Q(tax_year=year) | of_these_days).order_by("date", "pk")


class EstimatedPayment(Referenced):
    """Estimated tax that was paid. It counts against what was set aside, and is not an expense.

    `tax_year` is the year in which the tax year that it is for begins; None: that of its date.
    """

    date = models.DateField(db_index=True)
    amount = ExactField()
    note = models.TextField(blank=True, default="")
    tax_year = models.PositiveSmallIntegerField(null=True, blank=True)

    objects = EstimatedPaymentQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            positive("amount", "billing_estimatedpayment_amount_is_positive"),
        ]

    def __str__(self):
        return f"{self.amount} of estimated tax, {self.date}"

    def year_in(self, country: str) -> int:
        """Return the year in which the tax year that it is for begins."""
        return tax_year_of(self.date, country) if self.tax_year is None else self.tax_year

    def get_absolute_url(self):
        return reverse("billing:estimated-change", args=[self.pk])
