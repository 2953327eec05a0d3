"""What addresses and posted fields carry, read in one way: days, months, years, keys of rows, odometers.

Each kind of key has one path converter, `<day:day>`, `<id:pk>`; anything else in its place is no page. The
functions below read the same from queries and posts, where no converter stands.
"""

import re
from datetime import date
from decimal import Decimal

from django.http import Http404, HttpRequest
from django.urls import register_converter

from practice.lib.periods import is_within_reach
from practice.lib.today import today

LAST_ID = 2**63 - 1
# The key of a row that is only on a phone so far, `~` in an address. No row of the book has it.
NOT_IN_BOOK = -1
MOST_LETTERS = 200


class DayConverter:
    """A day as `YYYY-MM-DD`, of the years that a book is about."""

    regex = "[0-9]{4}-[0-9]{2}-[0-9]{2}"

    def to_python(self, value: str) -> date:
        return self._within_reach(date.fromisoformat(value))

    def to_url(self, value: date | str) -> str:
        return str(value)

    @staticmethod
    def _within_reach(day: date) -> date:
        if not is_within_reach(day, today()):
            raise ValueError(f"out of reach: {day}")
        return day


class MonthConverter(DayConverter):
    """A month as `YYYY-MM`: its first day."""

    regex = "[0-9]{4}-[0-9]{2}"

    def to_python(self, value: str) -> date:
        return super().to_python(f"{value}-01")

    def to_url(self, value: date | str) -> str:
        return f"{value:%Y-%m}" if isinstance(value, date) else value


class YearConverter(DayConverter):
    """A year as a number."""

    regex = "[0-9]{4}"

    def to_python(self, value: str) -> int:
        return super().to_python(f"{value}-01-01").year


class IdConverter:
    """The key of a row, from 1 to the largest that a database has.

    A link may name a row that is not in the book, as `~`. No address with a key answers to that; those that
    do have `~` in their route.
    """

    regex = "[0-9]{1,19}|~"
    first = 1

    def to_python(self, value: str) -> int:
        key = int(value)
        if not self.first <= key <= LAST_ID:
            raise ValueError(f"no key: {value}")
        return key

    def to_url(self, value: int | str) -> str:
        return "~" if value == NOT_IN_BOOK else str(value)


class ShelfConverter(IdConverter):
    """The key of a stock location, or 0 for the one shelf of a practice without locations."""

    first = 0


class ReadingConverter:
    """What an odometer shows, with at most six decimals: `84218`, `84218.4`."""

    regex = r"[0-9]{1,9}(?:\.[0-9]{1,6})?"

    def to_python(self, value: str) -> Decimal:
        return Decimal(value)

    def to_url(self, value: Decimal | str) -> str:
        return str(value)


def register_converters() -> None:
    """Make the converters known to Django, once, before any address is read."""
    kinds = {
        "day": DayConverter,
        "month": MonthConverter,
        "year": YearConverter,
        "id": IdConverter,
        "shelf": ShelfConverter,
        "reading": ReadingConverter,
    }
    for name, converter in kinds.items():
        register_converter(converter, name)


def day_of(text: str) -> date:
    """Return a day as an address has it. Raises Http404 for anything else."""
    try:
        if re.fullmatch(DayConverter.regex, text):
            return DayConverter().to_python(text)
    except ValueError:
        pass
    raise Http404


def id_of(text: str) -> int | None:
    """Return the key of a row as an address has it; None for anything else, which is the key of no row."""
    if not re.fullmatch(IdConverter.regex, text):
        return None
    try:
        return IdConverter().to_python(text)
    except ValueError:
        return None


def search_words(request: HttpRequest) -> str:
    """Return what was typed into the search field of a list, without blanks around it.

    That is at most so many letters, as in the field, and no NUL, which no database searches for.
    """
    return request.GET.get("q", "").replace("\0", "").strip()[:MOST_LETTERS]
