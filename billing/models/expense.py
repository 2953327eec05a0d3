from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from billing.rules.repeating import next_due
from practice.lib.fields import ExactField
from practice.lib.rows import Referenced, ReferencedQuerySet, positive
from practice.models import Vehicle

CATEGORIES = (
    "advertising",
    "commissions",
    "contract labor",
    "insurance",
    "interest",
    "legal and professional",
    "office",
    "rent",
    "repairs and maintenance",
    "supplies",
    "tools and equipment",
    "taxes and licenses",
    "travel",
    "meals",
    "utilities",
    "education",
    "card fees",
    "vehicle fuel",
    "vehicle repairs",
    "vehicle insurance",
    "vehicle registration",
    "vehicle lease",
    "parking and tolls",
    "other",
)
CATEGORY_CHOICES = [(name, name.capitalize()) for name in CATEGORIES]


class ExpenseQuerySet(ReferencedQuerySet):
    def for_list(self):
        """The latest first, with what a row of the list shows."""
        return self.select_related("vehicle").order_by("-date", "-pk")

    def within(self, period):
        """Those of the days of a period."""
        return self.filter(date__gte=period.begin, date__lte=period.end)

    def named(self, words: str):
        """Those whose vendor or category holds these words; all where there are none."""
        return self.filter(Q(vendor__icontains=words) | Q(category__icontains=words)) if words else self


class Expense(Referenced):
    """Money spent, by the categories of the book's contract; below zero: money back.

    `receipt` is the name of a file in the data folder's `receipts`, blank where there is none. `payment`: the
    card payment that this is the fee of.
    """

    CATEGORIES = CATEGORIES

    date = models.DateField(db_index=True)
    category = models.CharField(max_length=40, choices=CATEGORY_CHOICES)
    amount = ExactField()
    vendor = models.CharField(max_length=200, blank=True, default="")
    vehicle = models.ForeignKey(
        Vehicle, null=True, blank=True, on_delete=models.PROTECT, related_name="expenses"
    )
    note = models.TextField(blank=True, default="")
    receipt = models.CharField(max_length=80, blank=True, default="")
    payment = models.OneToOneField(
        "Payment", null=True, blank=True, on_delete=models.PROTECT, related_name="card_fee"
    )

    objects = ExpenseQuerySet.as_manager()

    def __str__(self):
        return f"{self.category} {self.amount}, {self.date}"

    def get_absolute_url(self):
        return reverse("billing:expense-change", args=[self.pk])


class RepeatingExpense(Referenced):
    """An expense that repeats: proposed when it is due, and never booked by itself.

    It is due on `valid_from` and every month, quarter or year after it, through `valid_to`.
    `answered_through`: what was due up to that day was booked or skipped.
    """

    class Every(models.TextChoices):
        MONTH = "month", "Every month"
        QUARTER = "quarter", "Every three months"
        YEAR = "year", "Every year"

    category = models.CharField(max_length=40, choices=CATEGORY_CHOICES)
    amount = ExactField()
    every = models.CharField(max_length=10, choices=Every, default=Every.MONTH)
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    vendor = models.CharField(max_length=200, blank=True, default="")
    vehicle = models.ForeignKey(Vehicle, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    note = models.TextField(blank=True, default="")
    answered_through = models.DateField(null=True, blank=True)

    class Meta(Referenced.Meta):
        constraints = [
            *Referenced.Meta.constraints,
            positive("amount", "billing_repeatingexpense_amount_is_positive"),
            models.CheckConstraint(
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=F("valid_from")),
                name="billing_repeatingexpense_ends_after_it_begins",
                violation_error_message="The end is before the first due date.",
            ),
        ]

    def __str__(self):
        return self.vendor or self.get_category_display()

    def get_absolute_url(self):
        return reverse("billing:repeating-change", args=[self.pk])

    @property
    def months(self) -> int:
        """How many months lie between one and the next."""
        return {self.Every.MONTH: 1, self.Every.QUARTER: 3, self.Every.YEAR: 12}[self.every]

    @property
    def next_due(self) -> date | None:
        """The first due day that was neither booked nor skipped; None after the last one."""
        return next_due(self.valid_from, self.months, self.valid_to, self.answered_through)

    @property
    def in_a_year(self) -> Decimal:
        """What it costs in a year."""
        return self.amount * 12 / self.months
