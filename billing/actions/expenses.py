"""Expenses: recorded, changed, deleted; each repeating one is booked or skipped when it is due."""

import uuid as uuids
from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.actions.receipts import keep_receipt, receipt_file
from billing.models import Expense, RepeatingExpense
from billing.rules.repeating import due_dates
from practice.lib.errors import RuleBroken
from practice.lib.money import round_money
from practice.lib.profile import Profile
from practice.models import Vehicle


@transaction.atomic
def record_expense(
    on: date,
    category: str,
    amount: Decimal,
    *,
    vendor: str = "",
    vehicle: Vehicle | None = None,
    note: str = "",
    receipt: bytes | None = None,
    uuid: uuids.UUID | None = None,
) -> Expense:
    """Record money spent (below zero: money back). `receipt` is what `clean_receipt` gave.

    With a `uuid` that is in the book already, that expense is returned and nothing changes. An expense
    dated on a closed day takes the first open day, and its note says when it was paid. Raises
    RuleBroken as `check_amount` does.
    """
    if uuid and (known := Expense.objects.filter(uuid=uuid).first()):
        return known
    profile = Profile.current()
    check_amount(amount, profile.currency)
    on, note = profile.date_payment(on, note)
    return Expense.objects.create(
        uuid=uuid or uuids.uuid4(),
        date=on,
        category=category,
        amount=amount,
        vendor=vendor,
        vehicle=vehicle,
        note=note,
        receipt=keep_receipt(receipt) if receipt else "",
    )


@transaction.atomic
def change_expense(
    expense: Expense, *, receipt: bytes | None = None, drop_receipt: bool = False, **changes
) -> Expense:
    """Change an expense (date, category, amount, vendor, vehicle, note) and its receipt.

    A receipt can still be added to an expense of a closed day. Raises RuleBroken for every other
    change of a closed day, and as `check_amount` does.
    """
    expense = Expense.objects.select_for_update().get(pk=expense.pk)
    profile, before = Profile.current(), expense.receipt
    changed = [name for name, value in changes.items() if getattr(expense, name) != value]
    adds_receipt = bool(receipt) and not before
    if changed or drop_receipt or (receipt and not adds_receipt):
        profile.check_open(expense.date)
        profile.check_open(changes.get("date", expense.date))
    for name in changed:
        setattr(expense, name, changes[name])
    check_amount(expense.amount, profile.currency)
    if receipt or drop_receipt:
        expense.receipt = keep_receipt(receipt) if receipt else ""
    expense.save()
    if before != expense.receipt:
        forget_receipt(before)
    return expense


@transaction.atomic
def remove_expense(expense: Expense) -> None:
    """Delete an expense with its receipt. Raises RuleBroken for a closed day."""
    Profile.current().check_open(expense.date)
    Expense.objects.filter(pk=expense.pk).delete()
    forget_receipt(expense.receipt)


def forget_receipt(name: str) -> None:
    """Delete the file of a receipt that no expense has any more, once the transaction is committed."""

    def delete():
        if name and not Expense.objects.filter(receipt=name).exists():
            receipt_file(name).unlink(missing_ok=True)

    transaction.on_commit(delete)


def check_amount(amount: Decimal, currency: str) -> None:
    """Raise RuleBroken("amount_zero") or RuleBroken("amount_too_fine") where an amount cannot be recorded."""
    if amount == 0:
        raise RuleBroken("amount_zero", "Enter an amount above 0, or below 0 for money back.")
    if round_money(amount, currency) != amount:
        raise RuleBroken("amount_too_fine", f"{amount} has too many decimals for {currency}.")


@transaction.atomic
def book_repeating(repeating: RepeatingExpense, due: date, **booked) -> Expense:
    """Book a repeating expense for a day on which it is due; `booked` as `record_expense` takes it.

    Booked twice it is one expense. Raises RuleBroken as `answer` and `record_expense` do.
    """
    key = uuids.uuid5(repeating.uuid, due.isoformat())
    if known := Expense.objects.filter(uuid=key).first():
        return known
    answer(repeating, due)
    return record_expense(uuid=key, **booked)


@transaction.atomic
def skip_repeating(repeating: RepeatingExpense, due: date) -> None:
    """Skip a day on which a repeating expense is due. Raises RuleBroken as `answer` does."""
    answer(repeating, due)


def answer(repeating: RepeatingExpense, due: date) -> None:
    """Record that what is due on a day, and all that was due before it, is booked or skipped.

    Raises RuleBroken("repeating_not_due") or RuleBroken("repeating_answered").
    """
    row = RepeatingExpense.objects.select_for_update().get(pk=repeating.pk)
    if due not in due_dates(row.valid_from, row.months, row.valid_to, due):
        raise RuleBroken(
            "repeating_not_due", f"{row} is not due on {due.isoformat()}. Open it from the list of expenses."
        )
    if row.answered_through and due <= row.answered_through:
        raise RuleBroken("repeating_answered", "This one is already booked or skipped.")
    row.answered_through = due
    row.save(update_fields=["answered_through"])
