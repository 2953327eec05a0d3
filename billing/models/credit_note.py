from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from practice.lib.fields import ExactField
from practice.lib.rows import Identified, not_negative
from practice.models import Visit


class CreditNoteQuerySet(models.QuerySet):
    def within(self, period):
        """Those of the days of a period."""
        return self.filter(issued__gte=period.begin, issued__lte=period.end)

    def for_list(self):
        """The latest first, with what a row of the list shows."""
        return self.select_related("invoice__client").order_by("-issued", "-pk")

    def named(self, words: str):
        """Those whose number, invoice or client holds these words; all where there are none."""
        if not words:
            return self
        return self.filter(
            Q(number__icontains=words)
            | Q(invoice__number__icontains=words)
            | Q(invoice__client__name__icontains=words)
        )


class CreditNote(Identified):
    """What was taken off an invoice again. It is issued when it is made, and never changes after.

    `again`: the visits that it frees are to be billed again.
    """

    class Why(models.TextChoices):
        CORRECTION = "correction", "Correction"
        GOODWILL = "goodwill", "Goodwill"
        BAD_DEBT = "bad_debt", "Bad debt"

    number = models.CharField(max_length=60, unique=True)
    invoice = models.ForeignKey("Invoice", on_delete=models.PROTECT, related_name="credit_notes")
    issued = models.DateField(db_index=True)
    net = ExactField()
    tax = ExactField()
    total = ExactField()
    reason = models.CharField(max_length=10, choices=Why, default=Why.CORRECTION)
    again = models.BooleanField(default=False)
    note = models.TextField(blank=True, default="")

    objects = CreditNoteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(total=F("net") + F("tax")), name="billing_creditnote_total_is_net_and_tax"
            ),
            not_negative("net", "billing_creditnote_net_is_not_negative"),
        ]

    def __str__(self):
        return self.number

    def get_absolute_url(self):
        return reverse("billing:credit-note-detail", args=[self.pk])


class CreditNoteLineQuerySet(models.QuerySet):
    def for_paper(self):
        """In the order of the invoice, with what its line names."""
        return self.select_related(
            "line__visit__place", "line__horse", "line__service", "line__item", "line__charge"
        ).order_by("line", "pk")


class CreditNoteLine(models.Model):
    """What of one line of the invoice was credited; `line` is None for an invoice without lines.

    `net` has the sign of the line: what is taken of a positive line is positive.
    """

    credit_note = models.ForeignKey(CreditNote, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(
        "InvoiceLine", null=True, blank=True, on_delete=models.PROTECT, related_name="credits"
    )
    net = ExactField()

    objects = CreditNoteLineQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["credit_note", "line"], name="billing_creditnoteline_names_a_line_once"
            )
        ]

    def __str__(self):
        return f"{self.net} of {self.line or 'the invoice'}"


class Rebilling(models.Model):
    """Somebody said whether a visit, which this credit note freed, is to be billed again."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="rebillings")
    credit_note = models.ForeignKey(CreditNote, on_delete=models.PROTECT, related_name="rebillings")
    again = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "credit_note"], name="billing_rebilling_is_said_once")
        ]

    def __str__(self):
        return f"{self.visit}, after {self.credit_note}"
