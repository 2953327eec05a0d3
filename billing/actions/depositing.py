"""Cash and checks taken to the bank."""

import uuid as uuids
from collections.abc import Iterable
from datetime import date

from django.db import transaction

from billing.models import BankDeposit, Payment
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile


@transaction.atomic
def make_deposit(
    on: date, payments: Iterable[Payment], *, note: str = "", uuid: uuids.UUID | None = None
) -> BankDeposit:
    """Put cash and checks into one bank deposit; their amounts, dates and methods stay from then on.

    With a `uuid` that is in the book already, that deposit is returned. Raises RuleBroken: `day_closed`,
    `deposit_empty`, and as `check_deposit` does.
    """
    if uuid and (known := BankDeposit.objects.filter(uuid=uuid).first()):
        return known
    Profile.locked().check_open(on)
    rows = list(Payment.objects.select_for_update().filter(pk__in=[row.pk for row in payments]))
    if not rows:
        raise RuleBroken("deposit_empty", "Select the cash and checks that went to the bank.")
    for row in rows:
        check_deposit(row, on)
    deposit = BankDeposit.objects.create(uuid=uuid or uuids.uuid4(), date=on, note=note)
    Payment.objects.filter(pk__in=[row.pk for row in rows]).update(deposit=deposit)
    return deposit


@transaction.atomic
def undo_deposit(deposit: BankDeposit) -> None:
    """Take a deposit apart: its payments can be deposited again. Raises RuleBroken("day_closed")."""
    Profile.locked().check_open(deposit.date)
    Payment.objects.filter(deposit=deposit).update(deposit=None)
    BankDeposit.objects.filter(pk=deposit.pk).delete()


def check_deposit(payment: Payment, on: date) -> None:
    """Raise RuleBroken where a payment cannot be deposited on a day.

    Codes: `not_for_deposit`, `already_deposited`, `deposit_before_payment`.
    """
    if payment.method not in Payment.DEPOSITED or payment.amount < 0:
        raise RuleBroken("not_for_deposit", "Only cash and checks that came in go to the bank.")
    if payment.deposit_id:
        raise RuleBroken(
            "already_deposited",
            f"The payment from {payment.client} is in another deposit. Leave it out.",
        )
    if Payment.objects.filter(reverses=payment).exists():
        raise RuleBroken("not_for_deposit", f"The check from {payment.client} bounced. Leave it out.")
    if payment.date > on:
        raise RuleBroken(
            "deposit_before_payment",
            f"The payment from {payment.client} came in after that day. Choose a later day or leave it out.",
        )
