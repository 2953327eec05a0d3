"""What a stop comes to for each client before it is invoiced, to be paid on the spot."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse

from billing.models import Payment
from billing.reports.drafts import Unissued
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Client, Visit

ZERO = Decimal(0)


@dataclass(frozen=True)
class SpotPayment:
    """A client's part of a stop as it would be invoiced now, with tax, and what was paid for it."""

    client: Client
    total: Decimal
    paid: Decimal

    @property
    def due(self) -> Decimal:
        """What is left to pay; 0 where more was paid."""
        return max(self.total - self.paid, ZERO)


def spot_payments(visit: Visit, profile: Profile, today: date) -> list[SpotPayment]:
    """Return what each client would be invoiced for a stop as it stands; nothing where it is held back.

    Needs `visit.place`.
    """
    if visit.status == Visit.Status.CANCELLED or visit.billed:
        return []
    totals: dict[int, Decimal] = defaultdict(Decimal)
    unissued = Unissued([visit], profile, today, visit.charges.uninvoiced().select_related("visit__place"))
    for draft in unissued.drafts():
        totals[draft.client.pk] += draft.totals(profile.currency).total
    paid: dict[int, Decimal] = defaultdict(Decimal)
    for payment in Payment.objects.filter(visit=visit, invoice=None):
        paid[payment.client_id] += payment.amount - payment.tip
    due = {client: total for client, total in totals.items() if total > 0}
    return [SpotPayment(unissued.clients[client], total, paid[client]) for client, total in due.items()]


def spot_rows(visit: Visit, profile: Profile, today: date) -> list[ListRow]:
    """Return a row for each client of a stop that is not invoiced yet; it leads to the payment."""
    style = profile.currency, profile.locale
    return [
        ListRow(
            f"{reverse('billing:payment-add', args=[spot.client.pk])}?visit={visit.pk}",
            str(spot.client),
            more="Record payment" if spot.due else "Paid on the spot",
            fact=formats.money(spot.due or spot.paid, *style),
            note=f"{formats.money(spot.paid, *style)} paid" if spot.due and spot.paid else "",
        )
        for spot in spot_payments(visit, profile, today)
    ]
