from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from billing.rules.payers import OtherPayer
from practice.models import Client, Horse, Service


class BillToQuerySet(models.QuerySet):
    def for_list(self):
        """The latest first, with what a row of the list names."""
        return self.select_related("client", "horse", "service").order_by(
            F("valid_from").desc(nulls_last=True), "-pk"
        )


class BillTo(models.Model):
    """A client who pays for a horse instead of its owners, from a day to a day (both included, blank = open).

    With a `service` for that one only; without, for everything, materials and travel included.
    """

    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="bill_to")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="bill_to")
    valid_from = models.DateField(null=True, blank=True)
    valid_to = models.DateField(null=True, blank=True)
    service = models.ForeignKey(Service, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    objects = BillToQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_from__isnull=True)
                | Q(valid_to__isnull=True)
                | Q(valid_to__gte=F("valid_from")),
                name="billing_billto_ends_after_it_begins",
            ),
        ]

    def __str__(self):
        return f"{self.client} pays for {self.horse}"

    def get_absolute_url(self):
        return reverse("billing:bill-to-change", args=[self.pk])

    def as_payer(self) -> OtherPayer:
        return OtherPayer(self.horse_id, self.client_id, self.valid_from, self.valid_to, self.service_id)
