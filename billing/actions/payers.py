"""Who pays for a horse instead of its owners."""

from datetime import date

from django.db import transaction
from django.db.models import Q, QuerySet

from billing.models import BillTo
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Horse, Service


@transaction.atomic
def add_payer(
    horse: Horse, client: Client, since: date | None, until: date | None, service: Service | None
) -> BillTo:
    """Let a client pay for a horse from a day to a day (both included, None: open), for a service or for all.

    What is invoiced stays. Raises RuleBroken where it would change closed days.
    """
    row = BillTo(horse=horse, client=client, valid_from=since, valid_to=until, service=service)
    return _save(row, before=None)


@transaction.atomic
def change_payer(
    row: BillTo, client: Client, since: date | None, until: date | None, service: Service | None
) -> BillTo:
    """Change who pays, from when to when, or for what. What is invoiced stays.

    Raises RuleBroken where it would change closed days.
    """
    before = BillTo.objects.select_for_update().get(pk=row.pk)
    row = BillTo(
        pk=before.pk,
        horse=before.horse,
        client=client,
        valid_from=since,
        valid_to=until,
        service=service,
    )
    return _save(row, before)


@transaction.atomic
def remove_payer(row: BillTo) -> None:
    """Delete who pays: the owners do. Raises RuleBroken where it would change closed days."""
    before = BillTo.objects.select_for_update().get(pk=row.pk)
    _check_closed_days(before, None)
    before.delete()


def end_payers(rows: QuerySet[BillTo], last: date) -> None:
    """End rows of who pays with a day, the last on which they hold; those to begin later are deleted.

    The day after is not closed for good: the caller has checked that.
    """
    rows.filter(valid_from__gt=last).delete()
    for row in rows.filter(Q(valid_to__isnull=True) | Q(valid_to__gt=last)):
        row.valid_to = last
        row.save(update_fields=["valid_to"])


def _save(row: BillTo, before: BillTo | None) -> BillTo:
    _check_closed_days(before, row)
    row.save()
    return row


def _check_closed_days(before: BillTo | None, after: BillTo | None) -> None:
    """Refuse what would change who paid on a day that is closed for good."""
    through = Profile.current().closed_through
    held, would = (row and row.as_payer().through(through) for row in (before, after))
    if held != would:
        raise RuleBroken(
            "day_closed",
            f"The book is closed through {through.isoformat()}, and who paid until then stays."
            " Choose days after it.",
        )
