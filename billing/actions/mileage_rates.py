"""Dated mileage rates: added, changed, put back as the program brought them."""

from django.db import transaction

from billing.actions.known_rates import key_of, known_rates
from billing.models import MileageRate
from practice.lib.profile import Profile


@transaction.atomic
def keep_rate(rate: MileageRate) -> MileageRate:
    """Keep a rate that was added or changed; it is the practice's own from now on.

    Raises RuleBroken where it began, or is to begin, on a day that is closed for good.
    """
    profile = Profile.current()
    if before := MileageRate.objects.select_for_update().filter(pk=rate.pk).first():
        profile.check_open(before.valid_from)
    profile.check_open(rate.valid_from)
    rate.from_program, rate.certainty = False, ""
    rate.save()
    return rate


@transaction.atomic
def put_rate_back(rate: MileageRate) -> None:
    """Put a rate of the practice back as the program brought it; one that it did not bring goes.

    Raises RuleBroken where it began on a day that is closed for good.
    """
    rate = MileageRate.objects.select_for_update().get(pk=rate.pk)
    Profile.current().check_open(rate.valid_from)
    for known in known_rates():
        if key_of(known) == key_of(rate):
            rate.valid_to, rate.rate = known.valid_to, known.rate
            rate.source, rate.certainty, rate.from_program = known.source, known.certainty, True
            rate.save()
            return
    rate.delete()
