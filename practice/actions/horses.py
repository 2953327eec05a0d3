"""Horses and their owners."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.plain import plain
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner


@transaction.atomic
def set_owners(horse: Horse, shares: Sequence[tuple[Client, Decimal]], since: date | None) -> None:
    """Make these the horse's owners from a day on (None: from the beginning), closing the shares before it.

    Shares are in percent. Those that were to begin on or after that day are replaced. Raises RuleBroken where
    the shares do not add up to 100, the day is closed for good, or none is given and a year is closed.
    """
    total = sum((share for _, share in shares), Decimal(0))
    if total != 100:
        raise RuleBroken(
            "shares_not_100", f"The shares add up to {plain(total)} percent. They must add up to 100."
        )
    Horse.objects.select_for_update().get(pk=horse.pk)
    profile = Profile.current()
    if since:
        profile.check_open(since)
    elif profile.closed_through and horse.owners.exists():
        raise RuleBroken(
            "closed_without_day", "Enter the day the new shares start. Closed years can no longer change."
        )
    if since is None:
        horse.owners.all().delete()
    else:
        horse.owners.filter(valid_from__gte=since).delete()
        for owner in horse.owners.on(since):
            owner.valid_to = since - timedelta(days=1)
            owner.save(update_fields=["valid_to"])
    Owner.objects.bulk_create(
        [Owner(horse=horse, client=client, share=share, valid_from=since) for client, share in shares]
    )


@transaction.atomic
def agree_next_call(horses: Iterable[Horse], on: date) -> list[Horse]:
    """Make a day the next call of horses, as agreed with the owner; return them.

    Raises RuleBroken for a horse that is not in our care any more; then nothing is changed.
    """
    rows = list(Horse.objects.select_for_update().filter(pk__in=[horse.pk for horse in horses]))
    for horse in rows:
        if horse.status != Horse.Status.ACTIVE:
            raise RuleBroken(
                "horse_not_active",
                f"{horse} is {horse.get_status_display().lower()}, so no visit can be set for it.",
            )
        horse.next_call = on
        horse.save(update_fields=["next_call"])
    return rows


@transaction.atomic
def end_owners(horse: Horse, last: date) -> None:
    """End the shares in a horse with a day, the last on which they hold; those to begin later are deleted.

    Raises RuleBroken for a day that is closed for good.
    """
    Profile.current().check_open(last)
    Horse.objects.select_for_update().get(pk=horse.pk)
    horse.owners.filter(valid_from__gt=last).delete()
    for owner in horse.owners.on(last):
        owner.valid_to = last
        owner.save(update_fields=["valid_to"])
