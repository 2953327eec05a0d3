"""How much tax is in what was received: an invoice's tax follows what is settled of it. Pure.

The tax settled so far is the invoice's tax × settled so far / total, rounded; each day gives what is
more than the days before gave, so that a paid invoice gives its tax to the cent. Tax and total are
those of the invoice less its credit notes up to the day; a credit note brings it to that on its own day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, localcontext

from practice.lib.money import PRECISION, round_money, split

ZERO = Decimal(0)


@dataclass(frozen=True)
class RateTax:
    """The tax of one area, name and rate (percent), the nets that it is on, and those of exempt clients.

    Blank, and no rate: an invoice of which the book has no lines.
    """

    area: str
    name: str
    rate: Decimal | None
    taxable: Decimal = ZERO
    exempt: Decimal = ZERO
    tax: Decimal = ZERO


@dataclass(frozen=True)
class BilledTax:
    """An invoice less its credit notes, as it stands from a day on. Amounts in the practice's currency."""

    since: date
    tax: Decimal
    total: Decimal
    rates: tuple[RateTax, ...] = ()


@dataclass(frozen=True)
class TaxReceived:
    """What of an invoice's tax came in on a day, below zero where a refund took it back."""

    date: date
    tax: Decimal
    rates: tuple[RateTax, ...] = ()


def received(
    billed: Sequence[BilledTax], settled: Iterable[tuple[date, Decimal]], currency: str
) -> list[TaxReceived]:
    """Return the tax in what settled one invoice, one row a day, in order.

    `billed` is the invoice, then the same less each credit note, in order of date. A credit note brings the
    tax to that of what is left of the invoice on its own day, also where nothing was settled on it.
    """
    rows, so_far = [], ZERO
    before = TaxReceived(date.min, ZERO, tuple(empty(rated) for rated in billed[0].rates))
    credited = [(row.since, ZERO) for row in billed[1:]]
    for day, amount in _by_day([*settled, *credited]):
        so_far += amount
        now = _settled_so_far(_as_of(billed, day), day, so_far, currency)
        rates = tuple(less(*pair) for pair in zip(now.rates, before.rates, strict=True))
        rows.append(TaxReceived(day, now.tax - before.tax, rates))
        before = now
    return rows


def _by_day(settled: Iterable[tuple[date, Decimal]]) -> list[tuple[date, Decimal]]:
    days: dict[date, Decimal] = {}
    for day, amount in settled:
        days[day] = days.get(day, ZERO) + amount
    return sorted(days.items())


def _as_of(billed: Sequence[BilledTax], day: date) -> BilledTax:
    return [row for row in billed if row.since <= day or row is billed[0]][-1]


def _settled_so_far(billed: BilledTax, day: date, settled: Decimal, currency: str) -> TaxReceived:
    """Return the tax in everything settled so far; by rate it is split by the rates' tax."""
    if not billed.total:
        return TaxReceived(day, ZERO, tuple(empty(rated) for rated in billed.rates))
    part = _Part(settled, billed.total, currency)
    tax = part.of(billed.tax)
    weights = [abs(rated.tax) for rated in billed.rates]
    taxes = split(tax, weights, currency) if any(weights) else [ZERO] * len(weights)
    rates = tuple(
        RateTax(rated.area, rated.name, rated.rate, part.of(rated.taxable), part.of(rated.exempt), own)
        for rated, own in zip(billed.rates, taxes, strict=True)
    )
    return TaxReceived(day, tax, rates)


@dataclass(frozen=True)
class _Part:
    settled: Decimal
    total: Decimal
    currency: str

    def of(self, amount: Decimal) -> Decimal:
        with localcontext(prec=PRECISION):
            return round_money(amount * self.settled / self.total, self.currency)


def empty(rated: RateTax) -> RateTax:
    """Return the same area, name and rate with nothing on it."""
    return RateTax(rated.area, rated.name, rated.rate)


def plus(a: RateTax, b: RateTax, sign: int = 1) -> RateTax:
    """Return two rows of one area, name and rate added up."""
    return RateTax(
        a.area,
        a.name,
        a.rate,
        a.taxable + sign * b.taxable,
        a.exempt + sign * b.exempt,
        a.tax + sign * b.tax,
    )


def less(a: RateTax, b: RateTax) -> RateTax:
    """Return the first row less the second."""
    return plus(a, b, -1)
