"""What business miles are worth by a tax authority's rates, and by what the vehicles cost. Pure.

`standard()` multiplies by dated rates, `actual_cost()` works out the business share of what a
vehicle cost. Both are shown side by side; neither is advised. Distances are in the book's unit,
amounts in the practice's currency.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext

from billing.rules.mileage_rates import Rate, RatePeriod, Tier, rate_parts, tier_bounds
from practice.lib.countries import MileageScheme
from practice.lib.money import PRECISION, round_money, split
from practice.lib.periods import Period

ZERO = Decimal(0)
KM_A_MILE = Decimal("1.609344")  # exactly: 1 mile = 1,609.344 m
SHARE = Decimal("0.000001")


@dataclass(frozen=True)
class BusinessDay:
    """The business distance that one vehicle drove on a day."""

    date: date
    vehicle: str
    distance: Decimal


@dataclass(frozen=True)
class StandardRow:
    """One rate period, clipped to the tax year, and one tier of it; of one vehicle where each has its own.

    `rate` is per `rate_unit`, `distance` and `tier_from` are in the book's unit. `carried`: the last
    known rate goes on, as no later one is in the book; what uses it is provisional. `by_vehicle`: each
    vehicle's part of the amount.
    """

    begin: date
    end: date
    tier_from: Decimal
    distance: Decimal
    rate: Decimal
    amount: Decimal
    carried: bool
    vehicle: str | None = None
    rate_unit: str = "mi"
    by_vehicle: tuple[tuple[str, Decimal], ...] = field(default=(), compare=False)

    def by_contract(self) -> dict:
        """Return the row under the keys that `year_end` prints, as plain values; `vehicle` None: all."""
        return {
            "from": self.begin,
            "to": self.end,
            "tier_from": self.tier_from,
            "distance": self.distance,
            "rate": self.rate,
            "amount": self.amount,
            "carried": self.carried,
            "vehicle": self.vehicle,
        }


@dataclass(frozen=True)
class Standard:
    """What a tax year's business miles are worth by the scheme's rates.

    `without_rate`: business distance that no known rate covers, before the first one; it is worth
    nothing here. `refused`: more vehicles were in use at once than the scheme is offered for.
    """

    rows: tuple[StandardRow, ...] = ()
    without_rate: Decimal = ZERO
    refused: bool = False

    @property
    def total(self) -> Decimal:
        return sum((row.amount for row in self.rows), ZERO)

    def of(self, vehicle: str) -> Decimal:
        """Return a vehicle's part of the total; the parts of all vehicles add up to it."""
        return sum((part for row in self.rows for key, part in row.by_vehicle if key == vehicle), ZERO)

    @property
    def provisional(self) -> bool:
        """Whether the total rests on a rate that was carried on."""
        return any(row.carried and row.distance for row in self.rows)


@dataclass(frozen=True)
class Actual:
    """What a vehicle cost, the business share of its distance (six decimals), and that part of the cost."""

    costs: Decimal
    business_share: Decimal
    amount: Decimal


def standard(
    scheme: MileageScheme,
    miles: Iterable[BusinessDay],
    rates: Iterable[Rate],
    year: Period,
    unit: str,
    currency: str,
) -> Standard:
    """Return what the business miles of a tax year are worth by a scheme's rates.

    One row per rate period and tier, also at distance 0, in date order. Tiers fill in date order over
    all vehicles together, or for each vehicle with business distance by itself, as the scheme has it.
    Days outside the year are left out. Rounded once per row. A scheme without a unit gives no row.
    """
    if not scheme.unit:
        return Standard()
    miles = [day for day in miles if day.date in year]
    if scheme.most_at_once is not None and most_at_once(miles) > scheme.most_at_once:
        return Standard(refused=True)
    rates = [replace(rate, tier_from=convert(rate.tier_from, scheme.unit, unit)) for rate in rates]
    pools: dict[str | None, list[BusinessDay]] = defaultdict(list)
    if scheme.per_vehicle:
        for day in miles:
            if day.distance:
                pools[day.vehicle].append(day)
    else:
        pools[None] = miles
    driven, without_rate, rows = dict.fromkeys(pools, ZERO), ZERO, []
    for part in rate_parts(rates, year):
        for vehicle, days in pools.items():
            within = [day for day in days if day.date in part.period]
            distance = sum((day.distance for day in within), ZERO)
            before, driven[vehicle] = driven[vehicle], driven[vehicle] + distance
            tiers = [
                _row(
                    part,
                    tier,
                    by_vehicle(within, before, *bounds),
                    vehicle,
                    scheme.unit,
                    unit,
                    currency,
                )
                for tier, bounds in zip(part.tiers, tier_bounds(part.tiers), strict=True)
            ]
            without_rate += distance - sum((row.distance for row in tiers), ZERO)
            rows += tiers
    return Standard(tuple(rows), without_rate)


def _row(
    part: RatePeriod,
    tier: Tier,
    driven: dict[str, Decimal],
    vehicle: str | None,
    rate_unit: str,
    unit: str,
    currency: str,
) -> StandardRow:
    distance = sum(driven.values(), ZERO)
    amount = worth(distance, unit, tier.rate, rate_unit, currency)
    parts = split(amount, list(driven.values()), currency) if distance else []
    return StandardRow(
        begin=part.period.begin,
        end=part.period.end,
        tier_from=tier.tier_from,
        distance=distance,
        rate=tier.rate,
        amount=amount,
        carried=tier.carried,
        vehicle=vehicle,
        rate_unit=rate_unit,
        by_vehicle=tuple(zip(driven, parts, strict=True)) if distance else (),
    )


def by_vehicle(
    days: Iterable[BusinessDay], before: Decimal, begin: Decimal, end: Decimal | None
) -> dict[str, Decimal]:
    """Return how much of the distance from `begin` to `end` each vehicle drove, day by day, in their order.

    `before` is how far all of them had driven; of one day the vehicles count in the order they stand in.
    """
    parts: dict[str, Decimal] = defaultdict(Decimal)
    for day in days:
        parts[day.vehicle] += overlap(before, before + day.distance, begin, end)
        before += day.distance
    return dict(parts)


def overlap(low: Decimal, high: Decimal, begin: Decimal, end: Decimal | None) -> Decimal:
    """Return how much of the distance from `low` to `high` lies between `begin` and `end`."""
    return max(ZERO, (high if end is None else min(high, end)) - max(low, begin))


def convert(distance: Decimal, unit: str, to: str) -> Decimal:
    """Return a distance in another unit, `mi` or `km`."""
    if unit == to:
        return distance
    with localcontext(prec=PRECISION):
        return distance * KM_A_MILE if unit == "mi" else distance / KM_A_MILE


def worth(distance: Decimal, unit: str, rate: Decimal, rate_unit: str, currency: str) -> Decimal:
    """Return a distance times a rate per `rate_unit`, rounded once."""
    with localcontext(prec=PRECISION):
        return round_money(convert(distance, unit, rate_unit) * rate, currency)


def most_at_once(miles: Iterable[BusinessDay]) -> int:
    """Return how many vehicles were in business use on one day, at most.

    Vehicles used in turn, on different days, are not in use at the same time (IRS Publication 463).
    """
    in_use = defaultdict(set)
    for day in miles:
        if day.distance:
            in_use[day.date].add(day.vehicle)
    return max(map(len, in_use.values()), default=0)


def actual_cost(costs: Decimal, currency: str, *, business: Decimal, total: Decimal) -> Actual:
    """Return the business part of what a vehicle cost: costs × business / all distance, rounded once.

    All distance = business + commuting + personal + not logged; where there is none the part is 0. It
    leaves out depreciation, loan interest and property tax, parking and tolls.
    """
    with localcontext(prec=PRECISION):
        amount = round_money(costs * business / total, currency) if total else ZERO
    return Actual(costs, business_share(business, total), amount)


def business_share(business: Decimal, total: Decimal) -> Decimal:
    """Return the business part of a distance, six decimals; 0 where nothing was driven."""
    with localcontext(prec=PRECISION):
        return (business / total).quantize(SHARE, rounding=ROUND_HALF_UP) if total else ZERO
