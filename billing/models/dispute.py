from django.db import models
from django.db.models import F, Q

from billing.models.invoice import Invoice


class DisputeQuerySet(models.QuerySet):
    def open(self):
        """Those that are not settled: no reminder goes out for their invoices."""
        return self.filter(settled_on__isnull=True)

    def for_list(self):
        """Open ones, the longest first, with what a row of a list shows."""
        return self.open().select_related("invoice__client").order_by("opened_on", "pk")


class Dispute(models.Model):
    """A client says that an invoice is wrong: since when, why, and until when."""

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="disputes")
    opened_on = models.DateField()
    note = models.TextField()
    settled_on = models.DateField(null=True, blank=True)

    objects = DisputeQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["invoice"],
                condition=Q(settled_on__isnull=True),
                name="billing_dispute_is_open_once",
            ),
            models.UniqueConstraint(
                fields=["invoice", "opened_on"], name="billing_dispute_begins_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(settled_on__isnull=True) | Q(settled_on__gte=F("opened_on")),
                name="billing_dispute_is_settled_after_it_began",
            ),
        ]

    def __str__(self):
        return f"{self.invoice}, {self.opened_on}"
