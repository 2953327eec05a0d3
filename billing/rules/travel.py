"""What the drive to a visit is charged."""

from collections.abc import Sequence
from decimal import Decimal

from practice.lib.choices import TravelRule
from practice.lib.money import round_money


def travel_charge(
    rule: str,
    rate: Decimal | None,
    legs: Sequence[Decimal],
    currency: str,
    back: Decimal | None = Decimal(0),
) -> Decimal | None:
    """Return the charge for one visit, rounded once, in the practice's currency; None: no reach is known.

    `rate` is the place's own, else the practice's: an amount per visit or per distance unit. `legs`
    are the distances of the legs that name the visit; their sum is its reach. `back` is its part of the legs
    that reach no visit, which a round trip adds; None: it is not driven yet. A rate of 0 (or none) charges
    nothing, with legs or without.
    """
    if rule == TravelRule.NONE or not rate:
        return Decimal(0)
    if rule == TravelRule.PER_VISIT:
        return round_money(rate, currency)
    is_round_trip = rule == TravelRule.ROUND_TRIP
    if not legs or is_round_trip and back is None:
        return None
    return round_money(rate * (sum(legs) + (back if is_round_trip else 0)), currency)
