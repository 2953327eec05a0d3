"""What the drive to a visit is charged."""

from collections.abc import Sequence
from decimal import Decimal

from practice.lib.choices import TravelRule
from practice.lib.money import round_money


def travel_charge(rule: str, rate: Decimal | None, legs: Sequence[Decimal], currency: str) -> Decimal | None:
    """Return the charge for one visit, rounded once, in the practice's currency; None: no reach is known.

    `rate` is the place's own, else the practice's: an amount per visit or per distance unit. `legs`
    are the distances of the legs that name the visit; their sum is its reach. A rate of 0 (or none)
    charges nothing, with legs or without.
    """
    if rule == TravelRule.NONE or not rate:
        return Decimal(0)
    if rule == TravelRule.PER_VISIT:
        return round_money(rate, currency)
    return round_money(rate * sum(legs), currency) if legs else None
