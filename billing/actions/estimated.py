"""Tax that was paid in ahead."""

from django.db import transaction

from billing.models import EstimatedPayment
from practice.lib.profile import Profile


@transaction.atomic
def keep_estimated(row: EstimatedPayment) -> EstimatedPayment:
    """Write down a new or changed row. Raises RuleBroken for a day that is closed for good."""
    profile = Profile.current()
    profile.check_open(row.date)
    if row.pk:
        profile.check_open(EstimatedPayment.objects.get(pk=row.pk).date)
    row.save()
    return row


@transaction.atomic
def remove_estimated(row: EstimatedPayment) -> None:
    """Take a row away. Raises RuleBroken for a day that is closed for good."""
    Profile.current().check_open(row.date)
    row.delete()
