"""The miles of a visit: the drives that reached it, and its part of those that reached none. Pure.

Distances are in the practice's unit, with one decimal.
"""

from collections.abc import Hashable, Iterable, Sequence
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

    A visit has its business legs, and its part of those that reached no visit (see `parts_of_the_rest`).
    Visits and what is unassigned add up to the day's business distance.
    """
    legs = list(legs)
    parts = parts_of_the_rest(legs)
    if not parts:
        return VisitMiles({}, _business(legs))
    own = {visit: _business(leg for leg in legs if leg.visit == visit) for visit in parts}
    return VisitMiles({visit: own[visit] + part for visit, part in parts.items()}, ZERO)


def parts_of_the_rest(legs: Sequence[DayLeg]) -> dict[Hashable, Decimal]:
    """Return each visit's part of a day's business legs that reached no visit (the way home, the supplier).

    They are shared over the visits reached, in order of the first leg, in proportion to their reaches (all
    legs that name them, whatever their purpose), equally where all are 0, to 0.1 by largest remainder, ties
    to the first.
    """
    reaches: dict[Hashable, Decimal] = {}
    for leg in legs:
        if leg.visit is not None:
            reaches[leg.visit] = reaches.get(leg.visit, ZERO) + leg.distance
    if not reaches:
        return {}
    rest = _business(leg for leg in legs if leg.visit is None)
    weights = list(reaches.values()) if any(reaches.values()) else [1] * len(reaches)
    parts = share_out(int(rest / TENTH), weights)
    return {visit: part * TENTH for visit, part in zip(reaches, parts, strict=True)}


def parts_back(legs: Sequence[DayLeg]) -> dict[Hashable, Decimal | None]:
    """Return `parts_of_the_rest`; None for each visit while no leg stands after the last one to a visit."""
    parts = parts_of_the_rest(legs)
    is_open = bool(legs) and legs[-1].visit is not None
    return dict.fromkeys(parts) if is_open else dict(parts)


def _business(legs: Iterable[DayLeg]) -> Decimal:
    return sum((leg.distance for leg in legs if leg.is_business), ZERO)
