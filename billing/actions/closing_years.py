"""Closing a tax year for good, and taking that back while no pack was made of it."""

from datetime import date

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.periods import tax_year
from practice.lib.profile import Profile


@transaction.atomic
def close_year(year: int, today: date) -> Profile:
    """Close the tax year that begins in `year` for good: nothing of it, or before it, changes any more.

    Raises RuleBroken while the year is not over, where it is closed already, and in an empty book.
    """
    profile = Profile.locked()
    end = tax_year(year, profile.country).end
    if not profile.name:
        raise RuleBroken("Write down the practice first.")
    if end >= today:
        raise RuleBroken(f"The year is not over: it ends on {end.isoformat()}.")
    if profile.is_closed(end):
        raise RuleBroken(f"The book is closed through {profile.closed_through.isoformat()} already.")
    profile.closed_before, profile.closing_to_take_back = profile.closed_through, end
    profile.closed_through = end
    return _keep(profile)


@transaction.atomic
def take_back_closing() -> Profile:
    """Open the year that was closed last again.

    Raises RuleBroken where nothing was closed here, or a pack was made since: it went to the preparer.
    """
    profile = Profile.locked()
    if not may_take_back(profile):
        raise RuleBroken("It stays closed: a pack was made since, or it was not closed here.")
    profile.closed_through, profile.closed_before = profile.closed_before, None
    profile.closing_to_take_back = None
    return _keep(profile)


def may_take_back(profile: Profile) -> bool:
    """Whether the closing that holds now can still be taken back."""
    through = profile.closed_through
    return through is not None and through == profile.closing_to_take_back


@transaction.atomic
def pack_was_made() -> None:
    """Let closings stand from now on. Whoever makes a pack calls this."""
    Profile.objects.update(closing_to_take_back=None, closed_before=None)


def _keep(profile: Profile) -> Profile:
    profile.save(update_fields=["closed_through", "closed_before", "closing_to_take_back"])
    return profile
