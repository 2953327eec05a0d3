"""The miles of a visit: the drives that reached it, and its part of those that reached none. Pure.

Distances are in the practice's unit, with one decimal.
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from practice.lib.shares import share_out

ZERO, TENTH = Decimal(0), Decimal("0.1")


@dataclass(frozen=True)
class DayLeg:
    """A leg of one vehicle's day: how far, whether for business, and the visit that it reached."""

    distance: Decimal
    is_business: bool
    visit: Hashable = None


@dataclass(frozen=True)
class VisitMiles:
    """Business miles of one vehicle's day: of each visit in order of its first leg, and of none."""

    visits: dict[Hashable, Decimal]
    unassigned: Decimal


def visit_miles(legs: Iterable[DayLeg]) -> VisitMiles:
    """Return what each visit of a vehicle's day was driven for business; legs are in driving order.

    A visit has its business legs, and its part of the business legs that reached no visit (the way
    home, the supplier): these are shared over the visits reached in proportion to their reaches (all
    legs that name them, whatever their purpose), equally where all are 0, to 0.1 by largest remainder,
    ties to the first. Visits and what is unassigned add up to the day's business distance.
    """
    reaches: dict[Hashable, Decimal] = {}
    own: dict[Hashable, Decimal] = {}
    rest = ZERO
    for leg in legs:
        if leg.visit is None:
            rest += leg.distance if leg.is_business else ZERO
            continue
        reaches[leg.visit] = reaches.get(leg.visit, ZERO) + leg.distance
        own[leg.visit] = own.get(leg.visit, ZERO) + (leg.distance if leg.is_business else ZERO)
    if not reaches:
        return VisitMiles({}, rest)
    weights = list(reaches.values()) if any(reaches.values()) else [1] * len(reaches)
    parts = share_out(int(rest / TENTH), weights)
    return VisitMiles(
        {visit: own[visit] + part * TENTH for visit, part in zip(own, parts, strict=True)}, ZERO
    )
