from django.db import models

from billing.rules.account_rows import Settled
from practice.lib.fields import ExactField


class Settlement(models.Model):
    """The part of a payment that went to one invoice on a day; below zero where a refund reopened it."""

    payment = models.ForeignKey("Payment", on_delete=models.PROTECT, related_name="settlements")
    invoice = models.ForeignKey("Invoice", on_delete=models.PROTECT, related_name="settlements")
    date = models.DateField(db_index=True)
    amount = ExactField()
    by_hand = models.BooleanField(default=False)

    def __str__(self):
        return f"{self.amount} of {self.payment} to {self.invoice}"

    def as_settled(self) -> Settled:
        return Settled(self.payment_id, self.invoice_id, self.date, self.amount, self.by_hand)
