"""The only two places that round money: `round_money` and `split`."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal, localcontext
from functools import cache

from babel.numbers import get_currency_precision

from practice.lib.shares import share_out

PRECISION = 60


@cache
def minor_digits(currency: str) -> int:
    """Return the decimals of an ISO 4217 currency by CLDR: USD 2, JPY 0, KWD 3."""
    return get_currency_precision(currency)


def quantum(currency: str) -> Decimal:
    """Return the smallest amount of a currency: USD 0.01."""
    return Decimal(1).scaleb(-minor_digits(currency))


def round_money(amount: Decimal, currency: str) -> Decimal:
    """Return `amount` rounded half away from zero to the currency's digits. Never minus zero."""
    with localcontext(prec=PRECISION):
        return amount.quantize(quantum(currency), rounding=ROUND_HALF_UP) + 0


def split(amount: Decimal, weights: Sequence[Decimal | int], currency: str) -> list[Decimal]:
    """Share out `amount` by weights: one part per weight, in the same order, which add up to it.

    Parts are rounded down (toward zero), the leftover minor units go to the largest remainders,
    ties to the first. A negative amount is split as the positive one, with the sign turned.

    Raises ValueError for an amount finer than the currency, no weights, a negative weight, or
    weights that are all zero.
    """
    unit = quantum(currency)
    if amount != round_money(amount, currency):
        raise ValueError(f"{amount} is finer than {currency}")
    if amount < 0:
        return [-part + 0 for part in split(-amount, weights, currency)]
    parts = share_out(int(amount / unit), weights)
    with localcontext(prec=PRECISION):
        return [part * unit for part in parts]
