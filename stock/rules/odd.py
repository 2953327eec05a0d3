"""What is possible but odd about quantities and prices: asked once on a page, warned about by an import.

The thresholds are common practice, no source: a slip of the decimal point or a doubled key is at least ten
times too much.
"""

from collections.abc import Iterable
from decimal import Decimal

TIMES_USUAL = 10


def usual_of(values: Iterable[Decimal]) -> Decimal | None:
    """Return the median of what there was before, the lower of two; zeros do not count. None for nothing."""
    ordered = sorted(value for value in values if value > 0)
    return ordered[(len(ordered) - 1) // 2] if ordered else None


def times_usual(value: Decimal, before: Iterable[Decimal]) -> int | None:
    """Return how many times the usual a value is, rounded down, where that is more than ten; else None."""
    usual = usual_of(before)
    if usual is None or value <= TIMES_USUAL * usual:
        return None
    return int(value // usual)


def over_ordered(received: Decimal, to_come: Decimal) -> Decimal:
    """Return how much more came than was still to come; 0 where it was not more."""
    return max(received - max(to_come, Decimal(0)), Decimal(0))
