"""What is set aside by hand for invoices, before the rest of the payments is worked out by date. Pure."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from datetime import date
from decimal import Decimal

from billing.rules.account_rows import ZERO, Bill, Paid, Settled


def chosen_parts(
    bills: Mapping[Hashable, Bill],
    payments: Iterable[Paid],
    recorded: Iterable[Settled],
    chosen: Iterable[Settled],
    closed: date,
) -> list[Settled]:
    """Return what payments settle by hand after `closed`, in their order; never more than they are.

    That is what each payment names, else the parts in `chosen`, at most the invoice's total less what
    earlier payments have of it by hand. A refund that names the invoice, and a check that bounced, make
    room again. `recorded` are the rows up to `closed`.
    """
    return _Chosen(bills, recorded, chosen, closed).of(payments)


class _Chosen:
    """What payments have of each invoice by hand, as one payment comes after the other."""

    def __init__(self, bills, recorded, chosen, closed):
        self.bills, self.closed = bills, closed
        self.rows: list[Settled] = []
        self.taken: dict[Hashable, Decimal] = defaultdict(Decimal)
        self.recorded, self.picked = defaultdict(list), defaultdict(list)
        for row in recorded:
            if row.by_hand:
                self.recorded[row.payment].append(row)
        for row in chosen:
            if row.date > closed:
                self.picked[row.payment].append(row)

    def of(self, payments: Iterable[Paid]) -> list[Settled]:
        for paid in payments:
            for row in self.recorded[paid.key]:
                self.taken[row.invoice] += row.amount
            if paid.amount < 0:
                self._make_room(paid)
            elif paid.invoice in self.bills:
                on = max(paid.date, self.bills[paid.invoice].date)
                self._set_aside(paid, [Settled(paid.key, paid.invoice, on, paid.without_tip)])
            else:
                self._set_aside(paid, self.picked[paid.key])
        return self.rows

    def _set_aside(self, paid: Paid, wanted: Iterable[Settled]) -> None:
        left = paid.without_tip - sum((max(row.amount, ZERO) for row in self.recorded[paid.key]), ZERO)
        for row in wanted:
            room = self.bills[row.invoice].total - self.taken[row.invoice]
            part = min(row.amount, room, left)
            if row.date > self.closed and part > 0:
                self.taken[row.invoice] += part
                left -= part
                self.rows.append(Settled(paid.key, row.invoice, row.date, part, by_hand=True))

    def _make_room(self, paid: Paid) -> None:
        if paid.date <= self.closed:
            return
        by_hand = [row for row in self.rows if row.date <= paid.date]
        by_hand += [row for rows in self.recorded.values() for row in rows if row.amount > 0]
        if paid.takes_back is not None:
            by_hand = [row for row in by_hand if row.payment == paid.takes_back]
        else:
            by_hand = [row for row in by_hand if row.invoice == paid.invoice]
        need = -paid.without_tip
        for row in by_hand:
            part = max(min(row.amount, need, self.taken[row.invoice]), ZERO)
            self.taken[row.invoice] -= part
            need -= part
