"""What clients owed and had as credit at the end of each day, saved beside their invoices and payments."""

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
