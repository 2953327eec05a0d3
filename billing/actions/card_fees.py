"""The fee of a card payment: an expense of its own, so that the payment stays what the client paid."""

import uuid as uuids
from decimal import Decimal

from billing.actions.expenses import change_expense, record_expense, remove_expense
from billing.models import Expense, Payment
from practice.lib.errors import RuleBroken

CATEGORY = "card fees"


def keep_card_fee(payment: Payment, fee: Decimal) -> None:
    """Record, change or delete the fee of a card payment; 0: it has none. Needs the caller's transaction.

    Raises RuleBroken: `fee_without_card`, `fee_above_amount`, and as expenses do.
    """
    if fee and payment.method != Payment.Method.CARD:
        raise RuleBroken("fee_without_card", "Only a card payment has a card fee.")
    if fee > max(payment.amount, Decimal(0)):
        raise RuleBroken("fee_above_amount", "The card fee is part of the amount, so it cannot be more.")
    known = Expense.objects.filter(payment=payment).first()
    if known and fee:
        change_expense(known, amount=fee, date=payment.date)
    elif known:
        remove_expense(known)
    elif fee:
        key = uuids.uuid5(payment.uuid, CATEGORY)
        note = f"Fee of the payment from {payment.client}"
        expense = record_expense(payment.date, CATEGORY, fee, note=note, uuid=key)
        Expense.objects.filter(pk=expense.pk).update(payment=payment)


def fee_of(payment: Payment) -> Decimal:
    """Return the fee of a payment; 0 where it has none."""
    expense = Expense.objects.filter(payment=payment).first()
    return expense.amount if expense else Decimal(0)
