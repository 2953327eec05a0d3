"""Exact numbers as whole millionths: how the database keeps them, and how far they go."""

from decimal import Decimal, InvalidOperation

from practice.lib.errors import RuleBroken

PLACES = 6
MILLION = 10**PLACES
LIMIT = 2**63 // MILLION
# No amount, quantity or distance of a practice comes near it. What is kept is below it, so that sums fit too.
LARGEST = Decimal(10**9)


class OutOfRange(RuleBroken, ValueError):
    """A number that is too large to keep, such as a quantity times a price."""

    def __init__(self):
        super().__init__(
            "number_too_large",
            "This comes to a number that is too large to keep. Check the quantities and the amounts.",
        )


def to_millionths(value: Decimal | int | str) -> int:
    """Return `value` as a whole number of millionths.

    Raises ValueError for a binary float, for more than six decimals and beyond ±9.2 × 10^12.
    """
    if isinstance(value, float | bool):
        raise ValueError(f"not an exact number: {value!r}")
    try:
        scaled = Decimal(value).scaleb(PLACES)
        whole = int(scaled)
    except (InvalidOperation, OverflowError, TypeError) as error:
        raise ValueError(f"not a number: {value!r}") from error
    if whole != scaled:
        raise ValueError(f"more than {PLACES} decimals: {value}")
    if abs(whole) >= LIMIT * MILLION:
        raise ValueError(f"out of range: {value}")
    return whole


def from_millionths(whole: int) -> Decimal:
    """Return the exact Decimal, without trailing zeros and never in exponent form: 2500000 → 2.5."""
    whole = int(whole)
    if whole % MILLION == 0:
        return Decimal(whole // MILLION)
    return Decimal(whole).scaleb(-PLACES).normalize()
