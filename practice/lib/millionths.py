"""Exact numbers as whole millionths: how the database keeps them, and how far they go."""

from decimal import Decimal, InvalidOperation

PLACES = 6
MILLION = 10**PLACES
LIMIT = 2**63 // MILLION
# No amount, quantity or distance of a practice comes near it: forms and imports refuse it, and all beyond.
LARGEST = Decimal(10**9)


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
