"""Letting a client keep the early-payment discount, by a credit note."""

import uuid as uuids
from datetime import date

from django.db import transaction

from billing.actions.crediting import first_day_to_credit, issue_credit_note
from billing.models import CreditNote, Invoice
from billing.reports.credits import credits_of_invoice
from billing.reports.early_payment import just_kept
from billing.rules.early_payment import early_amounts
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile


@transaction.atomic
def give_early_discount(invoice: Invoice, today: date, uuid: uuids.UUID | None = None) -> CreditNote:
    """Credit what a client kept who paid an invoice early: a credit note of goodwill, dated today or later.

    With a `uuid` that is in the book already, that credit note is returned and nothing changes. Raises
    RuleBroken("no_early_discount") where the invoice is not short by just that, or was paid late.
    """
    if uuid and (known := CreditNote.objects.filter(uuid=uuid).first()):
        return known
    profile = Profile.locked()
    discount = just_kept(Invoice.objects.with_settled().get(pk=invoice.pk), profile)
    if discount is None:
        raise RuleBroken(
            "no_early_discount", "The invoice is not short by just the early-payment discount anymore."
        )
    credits = credits_of_invoice(invoice)
    return issue_credit_note(
        invoice,
        first_day_to_credit(credits, today, profile),
        early_amounts(credits.standing, discount.percent),
        reason=CreditNote.Why.GOODWILL,
        note=f"Discount of {discount.percent_in_words} for paying early.",
        uuid=uuid,
    )
