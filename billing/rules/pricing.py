"""Which price holds on a day. Pure, on plain values."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

HUNDRED = Decimal(100)


@dataclass(frozen=True)
class DatedPrice:
    """The price of one unit from a day on: a special one for a horse, a client or a place, or the general."""

    since: date
    price: Decimal
    horse: Hashable = None
    client: Hashable = None
    place: Hashable = None

    @property
    def is_general(self) -> bool:
        return self.horse is None and self.client is None and self.place is None


@dataclass(frozen=True)
class LineOf:
    """Whose line is priced: its horse, the client who alone pays it (None: several), the visit's place."""

    horse: Hashable = None
    client: Hashable = None
    place: Hashable = None


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


def price_for(
    rows: Sequence[DatedPrice], on: date, line: LineOf, standing: Decimal | None = None
) -> Decimal | None:
    """Return the price that holds for a line: a special one for its horse goes before one for the client who
    alone pays it, before one for the visit's place, before the general one; each as `price_on` says.
    """
    for name in ("horse", "client", "place"):
        whose = getattr(line, name)
        special = [row for row in rows if whose is not None and getattr(row, name) == whose]
        found = price_on([(row.since, row.price) for row in special], on)
        if found is not None:
            return found
    return price_on([(row.since, row.price) for row in rows if row.is_general], on, standing)


def raised(price: Decimal, percent: Decimal, step: Decimal) -> Decimal:
    """Return a price raised by a percent and rounded to a multiple of `step`, half away from zero."""
    steps = (price * (HUNDRED + percent) / (HUNDRED * step)).quantize(Decimal(1), ROUND_HALF_UP)
    return steps * step
