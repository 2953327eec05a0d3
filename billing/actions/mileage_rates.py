"""Dated mileage rates: added, changed, deleted, put back as the program brought them."""

from django.db import transaction

from billing.actions.known_rates import known_rate_like
from billing.models import MileageRate
from practice.lib.profile import Profile


@transaction.atomic
def save_rate(rate: MileageRate) -> MileageRate:
    """Save a rate that was added or changed; it is the practice's own from now on.

    Raises RuleBroken `day_closed` where it began, or is to begin, on a closed day.
    """
    profile = Profile.current()
    if before := MileageRate.objects.select_for_update().filter(pk=rate.pk).first():
        profile.check_open(before.valid_from)
    profile.check_open(rate.valid_from)
    rate.from_program, rate.certainty = False, ""
    rate.save()
    return rate


@transaction.atomic
def undo_rate(rate: MileageRate) -> None:
    """Put a rate back as the program brought it; delete one that the practice added.

    Raises RuleBroken `day_closed` where it began on a closed day.
    """
    rate = MileageRate.objects.select_for_update().get(pk=rate.pk)
    Profile.current().check_open(rate.valid_from)
    known = known_rate_like(rate)
    if known is None:
        rate.delete()
        return
    rate.valid_to, rate.rate = known.valid_to, known.rate
    rate.source, rate.certainty, rate.from_program = known.source, known.certainty, True
    rate.save()
