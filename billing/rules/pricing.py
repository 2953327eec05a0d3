"""Which price holds on a day. Pure, on plain values."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal


def price_on(
    rows: Iterable[tuple[date, Decimal]], on: date, standing: Decimal | None = None
) -> Decimal | None:
    """Return the latest price whose `from` is not after the day, per unit in the practice's currency.

    `rows` are (from, price) in order of entry; of two from the same day the one entered later
    holds. `standing` (an item's sale price) holds before the first row; None: no price.
    """
    held, since = standing, date.min
    for valid_from, price in rows:
        if since <= valid_from <= on:
            held, since = price, valid_from
    return held
