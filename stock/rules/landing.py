"""What a delivery cost on the shelf: its lines share the freight and the tax that is not recovered."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal, localcontext

from practice.lib.millionths import PLACES
from practice.lib.money import PRECISION, round_money, split

MILLIONTH = Decimal(1).scaleb(-PLACES)


def amounts_of(lines: Sequence[tuple[Decimal, Decimal]], currency: str) -> list[Decimal]:
    """Return what each line (quantity, unit price) comes to on the delivery note, in the currency."""
    with localcontext(prec=PRECISION):
        return [round_money(quantity * price, currency) for quantity, price in lines]


def landed_unit_costs(
    lines: Sequence[tuple[Decimal, Decimal]], extra: Decimal, currency: str
) -> list[Decimal]:
    """Return the landed cost of one unit of each line (quantity above 0, unit price).

    `extra` (freight and the like, in the currency) is split over the lines by their amounts, by their
    quantities where nothing has a price. A line that takes no share of it keeps its price. Any other
    costs (amount + part) / quantity, rounded half away from zero to the six decimals that a unit cost
    has: no number of six decimals times the quantity is nearer to the landed amount. The two differ by
    at most half a millionth a unit, so that below 10,000 units the product rounds to the landed cents.

    Raises ValueError for an extra that is below 0 or has too many decimals for the currency.
    """
    if extra < 0:
        raise ValueError(f"{extra} is below 0")
    amounts = amounts_of(lines, currency)
    weights = amounts if any(amounts) else [quantity for quantity, _ in lines]
    parts = split(extra, weights, currency)
    with localcontext(prec=PRECISION):
        return [
            ((amount + part) / quantity).quantize(MILLIONTH, rounding=ROUND_HALF_UP) if part else price
            for (quantity, price), amount, part in zip(lines, amounts, parts, strict=True)
        ]
