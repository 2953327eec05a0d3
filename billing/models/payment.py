from decimal import Decimal

from django.db import models
from django.db.models import Prefetch, Q
from django.urls import reverse

from billing.models.invoice import Invoice
from billing.models.settlement import Settlement
from practice.lib.fields import ExactField
from practice.lib.rows import Referenced, ReferencedQuerySet
from practice.models import Client, Visit


class PaymentQuerySet(ReferencedQuerySet):
    def within(self, period):
        """Those of the days of a period."""
        return self.filter(date__gte=period.begin, date__lte=period.end)

    def for_list(self):
        """The latest first, with what a row of the list shows."""
        settled = Settlement.objects.select_related("invoice").order_by("date", "pk")
        rows = self.select_related("client", "invoice", "reverses", "deposit")
        return rows.prefetch_related(Prefetch("settlements", settled)).order_by("-date", "-pk")

    def for_detail(self):
        """With what a payment's own page shows."""
        return self.select_related(
            "client", "invoice", "visit__place", "reverses", "bounce", "card_fee", "deposit"
        )

    def receipted(self):
        """Those that have a receipt, payments and refunds, with what it shows; not checks that bounced."""
        return self.for_detail().filter(bounced=False)

    def to_deposit(self):
        """Cash and checks that came in and are in no bank deposit, and did not bounce."""
        kept = self.filter(method__in=self.model.DEPOSITED, amount__gt=0, deposit=None, bounce=None)
        return kept.select_related("client").order_by("date", "pk")

    def named(self, words: str):
        """Those whose client or invoice holds these words, or with this check number; all for none."""
        if not words:
            return self
        settled = self.model.objects.filter(settlements__invoice__number__icontains=words).values("pk")
        by_number = Q(invoice__number__icontains=words) | Q(check_number=words) | Q(pk__in=settled)
        return self.filter(Q(client__name__icontains=words) | by_number)


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

    DEPOSITED = (Method.CASH, Method.CHECK)  # what is taken to the bank

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
    check_number = models.CharField(max_length=40, blank=True, default="")
    note = models.TextField(blank=True, default="")
    bounced = models.BooleanField(default=False)

    class Meta:
        abstract = True

    def __str__(self):
        return f"{self.client} {self.amount}, {self.date}"

    @property
    def kind(self) -> str:
        """What lists and pages call it: `Payment`, `Refund` or `Bounced check`."""
        if self.bounced:
            return "Bounced check"
        return "Refund" if self.amount < 0 else "Payment"

    @property
    def how(self) -> str:
        """How it was paid: `cash`, `check 1042`."""
        return " ".join(filter(None, [self.get_method_display().lower(), self.check_number]))

    @property
    def title(self) -> str:
        """What a row of it says: `Check 1042`, `Refund, cash`, `Bounced check 1042`."""
        if self.bounced:
            return " ".join(filter(None, ["Bounced check", self.check_number]))
        return f"Refund, {self.how}" if self.amount < 0 else self.how.capitalize()


# The fields of a payment; its history keeps each of them.
PAYMENT_FIELDS = tuple(field.name for field in PaymentFacts._meta.fields)


class Payment(Referenced, PaymentFacts):
    """Money that came in, as it stands now.

    Several invoices that it names are kept as its settlements by hand. `reverses`: the check that this
    row says bounced; then its tip is below zero, too.
    """

    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="bounce"
    )

    deposit = models.ForeignKey(
        "BankDeposit", null=True, blank=True, on_delete=models.PROTECT, related_name="payments"
    )

    objects = PaymentQuerySet.as_manager()

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            models.CheckConstraint(
                condition=Q(tip__gte=0) | Q(bounced=True),
                name="billing_payment_tip_is_not_negative_unless_it_bounced",
            ),
            models.CheckConstraint(
                condition=Q(reverses__isnull=True) | Q(bounced=True),
                name="billing_payment_reverses_a_bounced_check",
            ),
            models.CheckConstraint(
                condition=Q(bounced=False) | Q(amount__lt=0), name="billing_payment_bounced_is_below_zero"
            ),
        ]

    def get_absolute_url(self) -> str:
        return reverse("billing:payment-detail", args=[self.pk])

    @property
    def receipt_url(self) -> str:
        return reverse("billing:receipt-detail", args=[self.pk])

    @property
    def invoice_numbers(self) -> list[str]:
        """The invoices that it settled or opened again, by day; else the one that it names."""
        rows = self.settlements.all()
        numbers = [row.invoice.number for row in rows if row.amount > 0 or self.amount < 0]
        named = [self.invoice.number] if self.invoice else []
        return list(dict.fromkeys(numbers)) or named


class PaymentChange(PaymentFacts):
    """What a payment was before it was changed or deleted: only ever added.

    `payment` is its key, `by` the login that changed it. `invoices` are the numbers of several that it named.
    """

    class What(models.TextChoices):
        CHANGED = "changed", "Changed"
        DELETED = "deleted", "Deleted"

    payment = models.CharField(max_length=200, db_index=True)
    what = models.CharField(max_length=7, choices=What)
    at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    invoices = models.TextField(blank=True, default="")

    objects = PaymentChangeQuerySet.as_manager()
