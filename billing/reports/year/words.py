"""Figures of the year in the practice's words: its locale, currency and unit of distance."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Protocol

from practice.lib import formats
from practice.lib.periods import Period
from practice.lib.profile import Profile

HUNDREDTH = Decimal("0.01")


class Driven(Protocol):
    """What a vehicle, or all of them, drove."""

    is_measured: bool
    unlogged: Decimal


class Words:
    """Writes figures as the practice reads them: `words.money(D(5))` is `$5.00`."""

    def __init__(self, profile: Profile):
        self.profile, self.locale, self.currency = profile, profile.locale, profile.currency

    def money(self, value: Decimal) -> str:
        return formats.money(value, self.currency, self.locale)

    def amount(self, value: Decimal) -> str:
        return formats.amount(value, self.currency, self.locale)

    def amounts(self, *values: Decimal) -> tuple[str, ...]:
        return tuple(self.amount(value) for value in values)

    def price(self, value: Decimal) -> str:
        return formats.unit_price(value, self.currency, self.locale)

    def quantity(self, value: Decimal) -> str:
        return formats.quantity(value, self.locale)

    def percent(self, value: Decimal) -> str:
        return formats.percent(value, self.locale)

    def distance(self, value: Decimal) -> str:
        return formats.distance(value, self.profile.distance_unit, self.locale)

    def tenths(self, *values: Decimal) -> tuple[str, ...]:
        return tuple(formats.tenths(value, self.locale) for value in values)

    def not_logged(self, driven: "Driven") -> str:
        """Return what no drive accounts for: `12.5`, or `at least 12.5`, `unknown` without readings."""
        if driven.is_measured:
            return formats.tenths(driven.unlogged, self.locale)
        return f"at least {formats.tenths(driven.unlogged, self.locale)}" if driven.unlogged else "unknown"

    def share(self, fraction: Decimal) -> str:
        """Return a part of 1 as percent with at most two decimals: `73.21%`."""
        return self.percent((fraction * 100).quantize(HUNDREDTH, ROUND_HALF_UP))

    def day(self, day: date) -> str:
        return formats.medium_date(day, self.locale)

    def long_day(self, day: date) -> str:
        return formats.long_date(day, self.locale)

    def day_and_month(self, day: date) -> str:
        return formats.day_and_month(day, self.locale)

    def days(self, period: Period) -> str:
        """`January 1, 2026 to December 31, 2026`."""
        return f"{self.long_day(period.begin)} to {self.long_day(period.end)}"

    def month(self, month: Period) -> str:
        """`October 2026`, or the days of a month that begins on another day than the first."""
        if month.begin.day == 1:
            return formats.month_name(month.begin, self.locale)
        return f"{self.day_and_month(month.begin)} to {self.day_and_month(month.end)}"

    def short_month(self, month: Period) -> str:
        """`Oct`, or the days of a month that begins on another day than the first."""
        return formats.short_month(month.begin, self.locale) if month.begin.day == 1 else self.month(month)

    def short_quarter(self, number: int, quarter: Period) -> str:
        """`Jan to Mar`, or `Q1` where a quarter begins within a month."""
        return self.quarter(quarter) if quarter.begin.day == 1 else f"Q{number}"

    def quarter(self, quarter: Period) -> str:
        """`Jan to Mar`, or the days of a quarter that begins within a month."""
        if quarter.begin.day == 1:
            begin, end = (formats.short_month(day, self.locale) for day in (quarter.begin, quarter.end))
            return f"{begin} to {end}"
        return f"{self.day_and_month(quarter.begin)} to {self.day_and_month(quarter.end)}"
