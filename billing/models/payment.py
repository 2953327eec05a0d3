from decimal import Decimal

from django.db import models
from django.db.models import Q
from django.urls import reverse

from billing.models.invoice import Invoice
from practice.lib.fields import ExactField
from practice.lib.rows import Referenced, ReferencedQuerySet, not_negative
from practice.models import Client, Visit


class PaymentQuerySet(ReferencedQuerySet):
    def within(self, period):
        """Those of the days of a period."""
        return self.filter(date__gte=period.begin, date__lte=period.end)

    def for_list(self):
        """The latest first, with what a row of the list shows."""
        return self.select_related("client", "invoice").order_by("-date", "-pk")

    def for_detail(self):
        """With what a payment's own page shows."""
        return self.select_related("client", "invoice", "visit__place")

    def named(self, words: str):
        """Those whose client or invoice number holds these words; all where there are none."""
        if not words:
            return self
        return self.filter(Q(client__name__icontains=words) | Q(invoice__number__icontains=words))


class PaymentChangeQuerySet(models.QuerySet):
    def for_list(self):
        """The latest first, with what a row of a history shows."""
        return self.select_related("client", "invoice", "visit__place").order_by("-at", "-pk")


class PaymentFacts(models.Model):
    """What is written down of money that came in; below zero a refund or a bounced check.

    `tip` is the part that settles nothing; `bounced`: it is a check that came back, not a refund. The
    invoice or visit that it names was chosen by hand.
    """

    class Method(models.TextChoices):
        CASH = "cash", "Cash"
        CHECK = "check", "Check"
        CARD = "card", "Card"
        TRANSFER = "transfer", "Transfer"
        OTHER = "other", "Other"

    date = models.DateField(db_index=True)
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="%(class)ss")
    amount = ExactField()
    method = models.CharField(max_length=10, choices=Method)
    invoice = models.ForeignKey(
        Invoice, null=True, blank=True, on_delete=models.PROTECT, related_name="%(class)ss"
    )
    visit = models.ForeignKey(
        Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="%(class)ss"
    )
    tip = ExactField(default=Decimal(0))
    note = models.TextField(blank=True, default="")
    bounced = models.BooleanField(default=False)

    class Meta:
        abstract = True

    def __str__(self):
        return f"{self.client} {self.amount}, {self.date}"


# The fields of a payment; its history keeps each of them.
PAYMENT_FIELDS = tuple(field.name for field in PaymentFacts._meta.fields)


class Payment(Referenced, PaymentFacts):
    """Money that came in, as it stands now."""

    objects = PaymentQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            not_negative("tip", "billing_payment_tip_is_not_negative"),
            models.CheckConstraint(
                condition=Q(bounced=False) | Q(amount__lt=0), name="billing_payment_bounced_is_below_zero"
            ),
        ]

    def get_absolute_url(self) -> str:
        return reverse("billing:payment-detail", args=[self.pk])


class PaymentChange(PaymentFacts):
    """What a payment was before it was changed or deleted: only ever added.

    `payment` is its key, `by` the login that changed it.
    """

    class What(models.TextChoices):
        CHANGED = "changed", "Changed"
        DELETED = "deleted", "Deleted"

    payment = models.CharField(max_length=200, db_index=True)
    what = models.CharField(max_length=7, choices=What)
    at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")

    objects = PaymentChangeQuerySet.as_manager()
