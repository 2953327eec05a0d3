"""What a line costs, for the form at the horse and for the invoice alike. Pure.

Amounts are in the practice's currency, prices in it per unit.
"""

from collections.abc import Iterable
from decimal import Decimal

from practice.lib.money import round_money

# A quantity and the price of one unit; None: there is no price.
Charge = tuple[Decimal, Decimal | None]


def unit_price(typed: Decimal | None, listed: Decimal | None) -> Decimal | None:
    """Return the price that holds: the one typed for this line, else the price list's; None: neither."""
    return listed if typed is None else typed


def line_amount(quantity: Decimal, price: Decimal, currency: str) -> Decimal:
    """Return what a line comes to, rounded once to the currency's digits."""
    return round_money(quantity * price, currency)


def horse_amount(work: Iterable[Charge], materials: Iterable[Charge], currency: str) -> Decimal | None:
    """Return what a horse's lines come to, without travel and tax.

    None where there is no work or a service has no price: such a visit is not billed. Material without
    a price is covered by the price of the work.
    """
    work = list(work)
    if not work or any(price is None for _, price in work):
        return None
    charges = [*work, *((quantity, price) for quantity, price in materials if price is not None)]
    return sum((line_amount(quantity, price, currency) for quantity, price in charges), Decimal(0))
