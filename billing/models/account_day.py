from django.db import models
from django.db.models import OuterRef, Q, Subquery

from practice.lib.fields import ExactField
from practice.models import Client


class AccountDayQuerySet(models.QuerySet):
    def on(self, day):
        """Where each client's account stood at the end of a day: one row a client, in order of entry."""
        last = AccountDay.objects.filter(client=OuterRef("pk"), date__lte=day).order_by("-date")
        clients = Client.objects.annotate(last=Subquery(last.values("pk")[:1])).filter(last__isnull=False)
        return self.filter(pk__in=clients.values("last")).order_by("client")


class AccountDay(models.Model):
    """Where a client's account stood at the end of a day on which it moved.

    Worked out from invoices, payments and settlements (`billing.rules.accounts`) and kept beside them, so
    that what was owed on a day is known without adding up all that came before.
    """

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="account_days")
    date = models.DateField()
    open = ExactField()
    credit = ExactField()

    objects = AccountDayQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["client", "date"], name="billing_accountday_is_one_a_day"),
            models.CheckConstraint(condition=Q(credit__gte=0), name="billing_accountday_credit"),
        ]

    def __str__(self):
        return f"{self.client} {self.date}: {self.open} open, {self.credit} credit"
