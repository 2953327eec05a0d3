"""Charging late fees and interest: only what was pressed, and no period twice."""

from collections.abc import Iterable
from datetime import date

from django.db import transaction

from billing.actions.charges import add_charge
from billing.models import Charge
from billing.reports.late_fees import proposed_late_fees
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile


@transaction.atomic
def charge_late_fees(refs: Iterable[str], on: date) -> list[Charge]:
    """Add a charge of that day for each of these proposals that still stands.

    They are worked out anew under the lock: pressed twice, or by two at once, nothing is charged twice.
    Raises RuleBroken("late_fees_off"), and "day_closed" as `add_charge` does.
    """
    profile, wanted = Profile.locked(), set(refs)
    if not (profile.late_fee or profile.late_interest_percent):
        raise RuleBroken(
            "late_fees_off", "Your settings charge nothing for paying late, so nothing was charged."
        )
    return [
        add_charge(
            row.invoice.client,
            on,
            row.name,
            row.amount,
            kind=Charge.Kind.LATE_FEE,
            ref=row.charge.ref,
        )
        for row in proposed_late_fees(on, profile)
        if row.charge.ref in wanted
    ]
