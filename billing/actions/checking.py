"""What looks wrong with a day, and was said to be right."""

from datetime import date

from django.db import transaction

from billing.models import CheckedWarning
from billing.reports.close_warnings import warnings_of
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile


@transaction.atomic
def mark_as_right(on: date, text: str) -> CheckedWarning:
    """Mark the warning of a day that says this as right; one that is marked stays as it is.

    Raises RuleBroken `no_such_warning` where the day has none (any more) that says so and can be marked, and
    `day_closed` for a day that is closed for good.
    """
    profile = Profile.current()
    profile.check_open(on)
    if not any(row.text == text and row.can_be_right for row in warnings_of(on, on, profile)):
        raise RuleBroken("no_such_warning", "The day has changed. Look at what is to check now.")
    return CheckedWarning.objects.get_or_create(date=on, text=text)[0]


@transaction.atomic
def check_again(on: date, text: str) -> None:
    """Take back that a warning of a day is right. Raises RuleBroken `day_closed` for a closed day."""
    Profile.current().check_open(on)
    CheckedWarning.objects.filter(date=on, text=text).delete()
