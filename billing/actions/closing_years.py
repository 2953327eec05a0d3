"""Closing a tax year, and reopening it while no pack has been made since."""

from datetime import date

from django.db import transaction

from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.periods import tax_year
from practice.lib.profile import Profile


@transaction.atomic
def close_year(year: int, today: date) -> Profile:
    """Close the tax year that begins in `year`: nothing in it, or before it, changes any more.

    Raises RuleBroken: `no_practice` in an empty book, `year_not_over` while the year lasts,
    `year_closed` where it is closed already.
    """
    profile = Profile.locked()
    end = tax_year(year, profile.country).end
    if not profile.name:
        raise RuleBroken("no_practice", "There is nothing to close yet. Fill in the settings first.")
    if end >= today:
        last = formats.long_date(end, profile.locale)
        raise RuleBroken("year_not_over", f"The year ends on {last}. Close it after that day.")
    if profile.is_closed(end):
        through = formats.long_date(profile.closed_through, profile.locale)
        raise RuleBroken("year_closed", f"The book is already closed through {through}, this year included.")
    profile.closed_before, profile.closing_to_take_back = profile.closed_through, end
    profile.closed_through = end
    return _save(profile)


@transaction.atomic
def reopen_year() -> Profile:
    """Reopen the year that was closed last.

    Raises RuleBroken `closing_stands` where no year was closed here, or a pack was made since: the
    tax preparer may have it.
    """
    profile = Profile.locked()
    if not can_reopen(profile):
        raise RuleBroken(
            "closing_stands",
            "The year stays closed: a pack was made since, or the book was not closed here."
            " Enter a correction on a day that is open.",
        )
    profile.closed_through, profile.closed_before = profile.closed_before, None
    profile.closing_to_take_back = None
    return _save(profile)


def can_reopen(profile: Profile) -> bool:
    """Whether the year that was closed last can still be reopened."""
    through = profile.closed_through
    return through is not None and through == profile.closing_to_take_back


@transaction.atomic
def pack_was_made() -> None:
    """Let the closing stand from now on. Whoever makes a pack calls this."""
    Profile.objects.update(closing_to_take_back=None, closed_before=None)


def _save(profile: Profile) -> Profile:
    profile.save(update_fields=["closed_through", "closed_before", "closing_to_take_back"])
    return profile
