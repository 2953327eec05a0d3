"""What clients owed and had as credit at the end of each day, saved beside their invoices and payments."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import Exists, OuterRef

from billing.models import AccountDay, CreditNote, Invoice, Payment, Settlement
from billing.rules.accounts import Standing, standings
from practice.models import Client


def account_standings(client: Client) -> list[Standing]:
    """Return where a client's account stood each day, worked out from what it is made of."""
    paid = Payment.objects.filter(client=client).values_list("date", "amount", "tip")
    credited = CreditNote.objects.filter(invoice__client=client).values_list("issued", "total")
    return standings(
        [
            *Invoice.objects.filter(client=client).values_list("issued", "total"),
            *((day, -total) for day, total in credited),
        ],
        [(day, amount - tip) for day, amount, tip in paid],
        Settlement.objects.filter(payment__client=client).values_list("date", "amount"),
    )


@transaction.atomic
def keep_account_days(client: Client) -> None:
    """Work out where a client's account stood each day, and save what differs from what is recorded."""
    wanted = account_standings(client)
    recorded = {
        Standing(row.date, row.open, row.credit): row.pk for row in AccountDay.objects.filter(client=client)
    }
    new = [row for row in wanted if row not in recorded]
    stale = set(recorded) - set(wanted)
    AccountDay.objects.filter(pk__in=[recorded[row] for row in stale]).delete()
    AccountDay.objects.bulk_create(
        [AccountDay(client=client, date=row.date, open=row.open, credit=row.credit) for row in new],
        batch_size=500,
    )


def quiet_accounts(clients: Iterable[int], on: date, visits: Iterable[int]) -> dict[int, Decimal]:
    """Return which of these clients' accounts an invoice of that day only adds to, with what is open there.

    They have no credit, nothing is dated that day or later, and no payment names one of these visits, which
    the invoices hold: so nothing is settled, neither now nor before.
    """
    of_client = OuterRef("pk")
    moved = (
        Exists(Invoice.objects.filter(client=of_client, issued__gte=on))
        | Exists(CreditNote.objects.filter(invoice__client=of_client, issued__gte=on))
        | Exists(Payment.objects.filter(client=of_client, date__gte=on))
        | Exists(Payment.objects.filter(client=of_client, visit__in=list(visits)))
    )
    asked = list(Client.objects.filter(~moved, pk__in=list(clients)).values_list("pk", flat=True))
    days = {row.client_id: row for row in AccountDay.objects.on(on).filter(client__in=asked)}
    return {
        client: days[client].open if client in days else Decimal(0)
        for client in asked
        if client not in days or not days[client].credit
    }


def add_to_quiet_accounts(invoices: Iterable[Invoice], quiet: dict[int, Decimal]) -> None:
    """Keep the day of each invoice in the account of its client; one invoice a client."""
    AccountDay.objects.bulk_create(
        AccountDay(client=row.client, date=row.issued, open=quiet[row.client_id] + row.total, credit=0)
        for row in invoices
        if row.total
    )


def bring_account_days() -> None:
    """Work out where each account stood, in a book that was begun before account days were kept."""
    if AccountDay.objects.exists():
        return
    of_client = {"client": OuterRef("pk")}
    moved = Exists(Invoice.objects.filter(**of_client)) | Exists(Payment.objects.filter(**of_client))
    if not (clients := list(Client.objects.filter(moved).order_by("pk"))):
        return
    with transaction.atomic():  # all of them or none: a book with one day is taken to have them all
        for client in clients:
            keep_account_days(client)
