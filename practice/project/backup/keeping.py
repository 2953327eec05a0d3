"""Which copies of the book are kept by themselves. Pure: moments in, moments out."""

from collections.abc import Iterable
from datetime import date, datetime

DAYS, MONTHS = 7, 12


def to_delete(made: Iterable[datetime], today: date) -> set[datetime]:
    """Return the moments of the copies that go.

    Kept are all copies of the newest day, the last one of each of the six days before it that have any, and
    the last one of each of the twelve months before it that have any. So a long pause deletes nothing. A copy
    dated after today, from a clock that was wrong, is left alone and does not count.
    """
    past = sorted(moment for moment in made if moment.date() <= today)
    last_of_day = {moment.date(): moment for moment in past}
    days = sorted(last_of_day)
    if not days:
        return set()
    newest = days[-1]
    last_of_month = {day.replace(day=1): last_of_day[day] for day in days}
    months = [month for month in sorted(last_of_month) if month < newest.replace(day=1)]
    kept = {last_of_day[day] for day in days[-DAYS:]} | {last_of_month[month] for month in months[-MONTHS:]}
    return {moment for moment in past if moment not in kept and moment.date() != newest}
