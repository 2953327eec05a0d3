"""Tax years by country, with their months and quarters. Pure, on dates."""

from calendar import monthrange
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate

from practice.lib.countries import country_of

MONTHS_A_QUARTER = 3
# The years that a book is about: what is dated before or later is a slip of the pen.
FIRST_YEAR, YEARS_AHEAD = 1990, 10
FIRST_DAY = date(FIRST_YEAR, 1, 1)


@dataclass(frozen=True, order=True)
class Period:
    """Days from `begin` to `end`, both included."""

    begin: date
    end: date

    def __contains__(self, day: date) -> bool:
        return self.begin <= day <= self.end

    @property
    def years(self) -> str:
        """What a tax year is called: `2025`, or `2025/26` where it ends in the next calendar year."""
        begin, end = self.begin.year, self.end.year
        return f"{begin}" if begin == end else f"{begin}/{end % 100:02d}"


def last_day_in_reach(today: date) -> date:
    """Return the last day that a book may be asked about: the end of the tenth year ahead."""
    return date(today.year + YEARS_AHEAD, 12, 31)


def is_within_reach(day: date, today: date) -> bool:
    """Whether a book may be asked about a day."""
    return FIRST_DAY <= day <= last_day_in_reach(today)


def within_reach(day: date, today: date) -> date | None:
    """Return the day, or None where a book may not be asked about it."""
    return day if is_within_reach(day, today) else None


def tax_year(year: int, country: str) -> Period:
    """Return the tax year that begins in `year` in the country of that code."""
    month, day = country_of(country).tax_year_begins
    return Period(date(year, month, day), date(year + 1, month, day) - timedelta(1))


def tax_year_of(day: date, country: str) -> int:
    """Return the year in which the tax year of a day begins."""
    return day.year if day in tax_year(day.year, country) else day.year - 1


def tax_year_around(day: date, country: str) -> Period:
    """Return the tax year that a day is in."""
    return tax_year(tax_year_of(day, country), country)


def months_of(year: Period) -> list[Period]:
    """Return the twelve months of a tax year in order; those of a UK year run from the 6th to the 5th."""
    begins = [add_months(year.begin, number) for number in range(13)]
    return [Period(begins[n], begins[n + 1] - timedelta(1)) for n in range(12)]


def quarters_of(year: Period, months_a_quarter: Sequence[int] = (MONTHS_A_QUARTER,) * 4) -> list[Period]:
    """Return the quarters of a tax year in order, each of so many of its months, else of three."""
    months, ends = months_of(year), list(accumulate(months_a_quarter))
    return [
        Period(months[end - length].begin, months[end - 1].end)
        for end, length in zip(ends, months_a_quarter, strict=True)
    ]


def add_months(day: date, months: int) -> date:
    """Return the same day so many months on, or the last day of a shorter month: Jan 31 + 1 is Feb 28."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def steps_from(first: date, months: int) -> Iterator[date]:
    """Yield a day and those that follow it every so many months, without end."""
    number = 0
    while True:
        yield add_months(first, number)
        number += months
