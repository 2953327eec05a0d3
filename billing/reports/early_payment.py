"""The early-payment discount of one invoice: what it comes to, until when, and whether it was just kept."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.urls import reverse

from billing.models import Invoice
from billing.reports.credits import credits_of_invoice
from billing.rules.early_payment import early_credit
from practice.lib import formats
from practice.lib.profile import Profile


@dataclass(frozen=True)
class EarlyDiscount:
    """What a client may keep who pays an invoice by its last day, with tax, in the practice's currency."""

    invoice: Invoice
    percent: Decimal
    amount: Decimal
    last_day: date
    profile: Profile

    @property
    def url(self) -> str:
        return reverse("billing:early-discount", args=[self.invoice.pk])

    @property
    def money(self) -> str:
        return formats.money(self.amount, self.profile.currency, self.profile.locale)

    @property
    def offer(self) -> str:
        """`Paid by October 24, $117.60 is enough: 2 % may be kept.`"""
        day = formats.day_and_month(self.last_day, self.profile.locale)
        enough = formats.money(self.invoice.open - self.amount, self.profile.currency, self.profile.locale)
        return f"By {day}, {enough} is enough: the early-payment discount is {self.percent_in_words}."

    @property
    def proposal(self) -> str:
        """What was kept, and what settles the rest."""
        day = formats.day_and_month(self.last_day, self.profile.locale)
        return (
            f"Paid by {day}, and short by just the discount of {self.percent_in_words}: {self.money}."
            " A credit note takes it off the invoice and its tax."
        )

    @property
    def percent_in_words(self) -> str:
        return formats.percent(self.percent, self.profile.locale)


def early_discount_of(invoice: Invoice, profile: Profile) -> EarlyDiscount | None:
    """Return the early-payment discount of an invoice; None where there is none. Needs `with_settled`."""
    percent, days = profile.early_discount_percent, profile.early_discount_days
    if not percent or days is None or invoice.open <= 0:
        return None
    credit = early_credit(credits_of_invoice(invoice).standing, percent)
    last_day = invoice.issued + timedelta(days)
    return EarlyDiscount(invoice, percent, credit.total, last_day, profile) if credit else None


def offered(invoice: Invoice, profile: Profile, on: date) -> EarlyDiscount | None:
    """Return the discount that a client may still keep who pays all the rest on this day."""
    discount = early_discount_of(invoice, profile) if not invoice.settled else None
    return discount if discount and on <= discount.last_day else None


def just_kept(invoice: Invoice, profile: Profile) -> EarlyDiscount | None:
    """Return the discount that a client kept: paid in time, and short by just that."""
    discount = early_discount_of(invoice, profile) if invoice.settled > 0 else None
    if discount is None or invoice.open != discount.amount:
        return None
    late = invoice.settlements.filter(date__gt=discount.last_day).exists()
    return None if late else discount
