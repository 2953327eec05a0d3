"""Where one client's account stands at the end of each day on which it moved. Pure, on plain values."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

ZERO = Decimal(0)
Dated = tuple[date, Decimal]


@dataclass(frozen=True)
class Standing:
    """What is open of the client's invoices at the end of a day, and the credit that nothing has used."""

    date: date
    open: Decimal
    credit: Decimal


def standings(billed: Iterable[Dated], paid: Iterable[Dated], settled: Iterable[Dated]) -> list[Standing]:
    """Return one row for each day after which something else is open, or other credit is left.

    `billed` are invoices, and credit notes below zero; `paid` are payments without their tips, and
    refunds below zero; `settled` is what of them went to invoices. A refund of more than everything
    that came in leaves no credit, never less than none.
    """
    moves: dict[date, list[Decimal]] = defaultdict(lambda: [ZERO, ZERO])
    for day, amount in billed:
        moves[day][0] += amount
    for day, amount in paid:
        moves[day][1] += amount
    for day, amount in settled:
        moves[day][0] -= amount
        moves[day][1] -= amount
    rows, due, credit = [], ZERO, ZERO
    for day in sorted(moves):
        before = due, credit
        due, credit = due + moves[day][0], max(credit + moves[day][1], ZERO)
        if (due, credit) != before:
            rows.append(Standing(day, due, credit))
    return rows
