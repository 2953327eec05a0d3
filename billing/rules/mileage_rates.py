"""Which mileage rates are in force on which days of a tax year, tier by tier. Pure."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from practice.lib.periods import Period


@dataclass(frozen=True)
class Rate:
    """What one mile or kilometer is worth from a day on, above a distance in the tax year.

    `end` None: until the next rate of its tier. Rate and tier are in the scheme's unit.
    """

    begin: date
    end: date | None
    tier_from: Decimal
    rate: Decimal


@dataclass(frozen=True)
class Tier:
    """A tier's rate in a part of the year, and whether it is only carried on."""

    tier_from: Decimal
    rate: Decimal
    carried: bool
    since: date


@dataclass(frozen=True)
class RatePeriod:
    """Days of a tax year on which the same rates are in force, lowest tier first; none known: no tier."""

    period: Period
    tiers: tuple[Tier, ...]


def rate_parts(rates: Iterable[Rate], year: Period) -> list[RatePeriod]:
    """Return a tax year cut where a rate begins or ends.

    In each tier the rate that began last is in force; past its end it is carried on.
    """
    series: dict[Decimal, list[Rate]] = defaultdict(list)
    for rate in sorted(rates, key=lambda rate: rate.begin):
        series[rate.tier_from].append(rate)
    turns = {year.begin}
    for rate in (rate for row in series.values() for rate in row):
        turns.add(rate.begin)
        if rate.end and rate.end < date.max:
            turns.add(rate.end + timedelta(1))
    parts: list[RatePeriod] = []
    begins = sorted(turn for turn in turns if turn in year)
    for begin, after in zip(begins, [*begins[1:], None], strict=True):
        end = after - timedelta(1) if after else year.end
        tiers = tuple(
            in_force(series[tier], begin) for tier in sorted(series) if series[tier][0].begin <= begin
        )
        if parts and parts[-1].tiers == tiers:
            parts[-1] = RatePeriod(Period(parts[-1].period.begin, end), tiers)
        else:
            parts.append(RatePeriod(Period(begin, end), tiers))
    return parts


def in_force(rates: Sequence[Rate], day: date) -> Tier:
    """Return the rate of one tier on a day, of rates in order of their begin, the first not after it."""
    last = [rate for rate in rates if rate.begin <= day][-1]
    carried = last.end is not None and last.end < day
    return Tier(last.tier_from, last.rate, carried, last.begin)


def tier_bounds(tiers: Sequence[Tier]) -> list[tuple[Decimal, Decimal | None]]:
    """Return where each tier begins and ends in the year's distance; None: without end."""
    begins = [tier.tier_from for tier in tiers]
    return list(zip(begins, [*begins, None][1:], strict=True))
