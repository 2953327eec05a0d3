"""What a stop comes to for each client before it is invoiced, to be paid on the spot."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q
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
    """A client's part of a stop as it would be invoiced now, with tax, and what was paid for it.

    `total` is None where the stop is held back, so that nobody knows yet.
    """

    client: Client
    total: Decimal | None
    paid: Decimal

    @property
    def due(self) -> Decimal:
        """What is left to pay; 0 where more was paid, or where it is not known."""
        return max((self.total or ZERO) - self.paid, ZERO)

    def row(self, visit: Visit, profile: Profile) -> ListRow:
        """Return a row that leads to the payment: what is left, and what was paid."""
        paid = formats.money(self.paid, profile.currency, profile.locale)
        is_paid = self.total is not None and not self.due
        return ListRow(
            f"{reverse('billing:payment-add', args=[self.client.pk])}?visit={visit.pk}",
            str(self.client),
            more="Paid on the spot" if is_paid else "Record payment",
            fact=formats.money(self.due, profile.currency, profile.locale) if self.due else "",
            note=f"{paid} paid" if self.paid else "",
        )


@dataclass(frozen=True)
class SpotBilling:
    """What each client of a stop would pay now; `held` says why the amounts are not known yet."""

    payments: list[SpotPayment]
    held: str = ""

    def due_of(self, client: Client) -> Decimal:
        """Return what is left for a client to pay; 0 where it is nothing, or not known."""
        return sum((row.due for row in self.payments if row.client == client), ZERO)


def spot_billing(visit: Visit, profile: Profile, today: date) -> SpotBilling:
    """Return what each client would be invoiced for a stop as it stands. Needs `visit.place`.

    Where it is held back, its horses' owners can pay something all the same.
    """
    if visit.status == Visit.Status.CANCELLED or visit.billed:
        return SpotBilling([])
    paid: dict[int, Decimal] = defaultdict(Decimal)
    for payment in Payment.objects.filter(visit=visit, invoice=None):
        paid[payment.client_id] += payment.amount - payment.tip
    unissued = Unissued([visit], profile, today, visit.charges.uninvoiced().select_related("visit__place"))
    if unissued.held:
        owners = [SpotPayment(client, None, paid[client.pk]) for client in owners_at(visit)]
        return SpotBilling(owners, unissued.held[0].reason)
    totals: dict[int, Decimal] = defaultdict(Decimal)
    for draft in unissued.drafts():
        totals[draft.client.pk] += draft.totals(profile.currency).total
    due = {client: total for client, total in totals.items() if total > 0}
    return SpotBilling(
        [SpotPayment(unissued.clients[client], total, paid[client]) for client, total in due.items()]
    )


def owners_at(visit: Visit) -> list[Client]:
    """Return the owners, on that day, of the horses that were worked on, in order of entry."""
    has_begun = Q(shares__valid_from__isnull=True) | Q(shares__valid_from__lte=visit.date)
    goes_on = Q(shares__valid_to__isnull=True) | Q(shares__valid_to__gte=visit.date)
    of_the_visit = Q(shares__horse__work__visit=visit)
    return list(Client.objects.filter(has_begun, goes_on, of_the_visit).distinct().order_by("pk"))
