from datetime import date

from django.db import models
from django.db.models import Q
from django.urls import reverse

from billing.models.invoice import Invoice
from practice.lib.periods import Period
from practice.lib.rows import Identified
from practice.models import Client


class SharedLinkQuerySet(models.QuerySet):
    def working(self, on: date):
        """Those that open on a day: not expired and not ended."""
        return self.filter(ended_at__isnull=True, expires_on__gte=on)

    def for_detail(self):
        """With what its page and the client's page show."""
        return self.select_related("client", "invoice__client")

    def of_statement(self, client: Client, period: Period):
        return self.filter(client=client, begin=period.begin, end=period.end).order_by("-pk")


class SharedLink(Identified):
    """A way for a client to see one invoice, or one statement, without a login.

    Its address is its UUID and a signature (`billing.reports.shared`): nothing here lets anybody in.
    `expires_on` is the last day on which it opens; `with_history`: the work on the client's horses, too.
    """

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="shared_links")
    invoice = models.ForeignKey(
        Invoice, null=True, blank=True, on_delete=models.PROTECT, related_name="shared_links"
    )
    begin = models.DateField(null=True, blank=True)
    end = models.DateField(null=True, blank=True)
    with_history = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    expires_on = models.DateField()
    ended_at = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)

    objects = SharedLinkQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(invoice__isnull=False, begin__isnull=True, end__isnull=True)
                | Q(invoice__isnull=True, begin__isnull=False, end__isnull=False),
                name="billing_sharedlink_is_to_an_invoice_or_a_statement",
            )
        ]

    def __str__(self):
        return f"{self.invoice or self.client}, until {self.expires_on}"

    def get_absolute_url(self):
        return reverse("billing:link-detail", args=[self.pk])
