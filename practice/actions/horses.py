"""Horses and their owners."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner


@transaction.atomic
def set_owners(horse: Horse, shares: Sequence[tuple[Client, Decimal]], since: date | None) -> None:
    """Make these the horse's owners from a day on (None: from ever), closing the shares before it.

    Shares that were to begin on or after that day are replaced. Raises RuleBroken where the shares do
    not add up to 100, the day is closed for good, or work of a later day is invoiced already.
    """
    if sum((share for _, share in shares), Decimal(0)) != 100:
        raise RuleBroken("The shares have to add up to 100.")
    Horse.objects.select_for_update().get(pk=horse.pk)
    profile = Profile.current()
    if since:
        profile.check_open(since)
    elif profile.closed_through and horse.owners.exists():
        raise RuleBroken("Say from which day: what lies in closed years stands as it is.")
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
