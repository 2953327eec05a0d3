"""A check that came back from the bank."""

import uuid as uuids
from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.actions.charges import add_charge
from billing.actions.payment_checks import check_not_bounced
from billing.actions.payments import still_there
from billing.actions.settling import resettle_client
from billing.models import Charge, Payment
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile


@transaction.atomic
def bounce_check(
    check: Payment, on: date, *, note: str = "", fee: Decimal | None = None, uuid: uuids.UUID | None = None
) -> Payment:
    """Take a check back with a payment below zero that names it: what it settled is open again.

    The `fee` that the client pays for it becomes a charge of that day.
    With a `uuid` that is in the book already, that row is returned. On a closed day it takes the first open
    day. Raises RuleBroken: `not_a_check`, `payment_bounced`, `bounced_before_paid`, `payment_deleted`.
    """
    if uuid and (known := Payment.objects.filter(uuid=uuid).first()):
        return known
    profile = Profile.locked()
    check = still_there(check)
    if check.method != Payment.Method.CHECK or check.amount < 0:
        raise RuleBroken("not_a_check", "Only a check that was received can bounce.")
    check_not_bounced(check)
    if on < check.date:
        raise RuleBroken("bounced_before_paid", "The check cannot bounce before the day you received it.")
    on, note = profile.date_payment(on, note)
    bounce = Payment.objects.create(
        uuid=uuid or uuids.uuid4(),
        client=check.client,
        date=on,
        amount=-check.amount,
        tip=-check.tip,
        method=check.method,
        check_number=check.check_number,
        invoice=check.invoice,
        note=note,
        bounced=True,
        reverses=check,
    )
    if fee:
        kind, key = Charge.Kind.BOUNCED_CHECK, uuids.uuid5(bounce.uuid, Charge.Kind.BOUNCED_CHECK)
        add_charge(check.client, on, kind.label, fee, kind=kind, uuid=key)
    resettle_client(check.client)
    return bounce
