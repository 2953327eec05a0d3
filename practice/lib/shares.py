"""Sharing a whole number of units out by weights, so that the parts add up to it."""

from collections.abc import Sequence
from decimal import Decimal


def share_out(units: int, weights: Sequence[Decimal | int]) -> list[int]:
    """Return one whole number of units per weight, in order, which add up to `units`, 0 or more.

    Parts are rounded down, the leftover units go to the largest remainders, ties to the first.
    Raises ValueError for no weights, a negative weight, or weights that are all zero.
    """
    weights = [Decimal(weight) for weight in weights]
    if not weights or min(weights) < 0 or sum(weights) == 0:
        raise ValueError("units are shared out by weights of at least 0, one of them above 0")
    scale = 10 ** max(0, *(-weight.as_tuple().exponent for weight in weights))
    whole = [int(weight * scale) for weight in weights]
    total = sum(whole)
    parts = [units * weight // total for weight in whole]
    by_remainder = sorted(range(len(whole)), key=lambda i: (-(units * whole[i] % total), i))
    for i in by_remainder[: units - sum(parts)]:
        parts[i] += 1
    return parts
