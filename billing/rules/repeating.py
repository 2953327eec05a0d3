"""When an expense that repeats is due. Pure, on dates."""

from collections.abc import Iterator
from datetime import date
from itertools import takewhile

from practice.lib.periods import steps_from


def due_dates(first: date, months: int, last: date | None, through: date) -> Iterator[date]:
    """Yield the days on which it is due, every so many months from the first, up to `last` and `through`."""
    end = min(last, through) if last else through
    return takewhile(lambda day: day <= end, steps_from(first, months))


def unanswered(
    first: date, months: int, last: date | None, answered_through: date | None, through: date
) -> list[date]:
    """Return the due days up to `through` that were neither booked nor left out, the oldest first."""
    days = due_dates(first, months, last, through)
    return [day for day in days if answered_through is None or day > answered_through]


def next_due(first: date, months: int, last: date | None, answered_through: date | None) -> date | None:
    """Return the first due day that was neither booked nor left out; None where none is to come."""
    days = due_dates(first, months, last, date.max)
    return next((day for day in days if answered_through is None or day > answered_through), None)
