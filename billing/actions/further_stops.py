"""A further stop: work that was recorded too late for the invoice of its stop, billed on one of its own.

It is a stop at the same place, without a drive of its own, so the drive is not charged again.
"""

from collections import defaultdict
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from billing.actions.charges import add_charge
from billing.models import Charge, InvoiceLine
from billing.reports.billable import Biller
from practice.actions.road import log_leg
from practice.actions.visits import complete_visit, plan_visit
from practice.lib.choices import TravelRule
from practice.lib.profile import Profile
from practice.models import Client, Visit

# The drive, and what is missing to the minimum of a call.
CHARGED_ONCE = (InvoiceLine.Kind.TRAVEL, InvoiceLine.Kind.CHARGE)
CHARGED_BEFORE = "Travel: charged with the first stop"


@transaction.atomic
def plan_further_stop(first: Visit) -> Visit:
    """Plan a stop like another one on its day; where that is closed for good, on the first open day.

    Raises RuleBroken as `plan_visit` does.
    """
    on = Profile.current().open_day(first.date)
    note = "" if on == first.date else f"For {first.date.isoformat()}, a day already closed."
    stop = plan_visit(first.place, on, vehicle=first.vehicle, arrive=first.arrive, note=note)
    stop.arrived = first.arrived
    stop.save(update_fields=["arrived"])
    return stop


@transaction.atomic
def complete_further_stop(stop: Visit, first: Visit, written: datetime) -> Visit:
    """Mark a further stop as done, with a drive of 0 and without a charge for it."""
    profile = Profile.current()
    # A round trip is known once a drive stands after the one to the last stop.
    drives = {TravelRule.PER_DISTANCE: [stop], TravelRule.ROUND_TRIP: [stop, None]}
    for reached in drives.get(profile.travel_rule, ()) if stop.vehicle else ():
        log_leg(
            stop.vehicle,
            stop.date,
            purpose="business",
            distance=Decimal(0),
            origin=str(stop.place),
            destination=str(stop.place),
            reason="" if reached else "driven with the first stop",
            visit=reached,
            written=written,
        )
    stop = complete_visit(stop, leave=first.leave)
    for (client, taxable), amount in _charged_again(stop, profile).items():
        add_charge(
            client,
            stop.date,
            CHARGED_BEFORE,
            -amount,
            taxable=taxable,
            kind=Charge.Kind.DISCOUNT,
            visit=stop,
        )
    return stop


def _charged_again(stop: Visit, profile: Profile) -> dict:
    """Return what a stop bills beside work and materials, by client and whether it is taxed."""
    amounts = defaultdict(Decimal)
    for part in Biller([stop], profile).one(stop).parts:
        if part.kind in CHARGED_ONCE and part.net:
            amounts[part.client, bool(part.taxes)] += part.net
    clients = Client.objects.in_bulk({client for client, _ in amounts})
    return {(clients[client], taxable): amount for (client, taxable), amount in amounts.items()}
