"""Which payment settles which invoice, for one client. Pure, on plain values.

What a payment names is set aside first; the rest is worked out in order of date, on one day invoices, then
credit notes, payments and refunds. What is dated up to `closed_through` stays as it was.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from billing.rules.account_rows import Bill, CreditNoteValue, Paid, Settled
from billing.rules.chosen_parts import chosen_parts
from billing.rules.settled_parts import SettledPart, SettledParts

ZERO = Decimal(0)


@dataclass
class Outcome:
    """`rows` in the order in which they arose; `credit` is what is left of each payment, above zero.

    `uncovered` is what refunds gave back beyond everything that came in.
    """

    rows: list[Settled] = field(default_factory=list)
    credit: dict[Hashable, Decimal] = field(default_factory=dict)
    uncovered: Decimal = ZERO


def settle(
    bills: Iterable[Bill],
    payments: Iterable[Paid],
    credits: Iterable[CreditNoteValue] = (),
    closed_through: date | None = None,
    standing: Iterable[Settled] = (),
    chosen: Iterable[Settled] = (),
) -> Outcome:
    """Return the settlements of one client, and the credit left of each payment.

    `standing` are the settlements on record; those dated on or before `closed_through` stay.
    `chosen` are parts set aside by hand of payments that name nothing themselves, at most the payment.
    """
    tables = (list(table) for table in (bills, payments, credits, standing, chosen))
    return _Account(*tables, closed_through or date.min).work_out()


class _Account:
    """One client's account as the days go by."""

    def __init__(self, bills, payments, credits, standing, chosen, closed_through):
        self.bills = {bill.key: bill for bill in sorted(bills, key=lambda bill: (bill.date, bill.number))}
        self.payments = sorted(payments, key=lambda paid: (paid.date, paid.order))
        self.closed, self.chosen = closed_through, chosen
        self.recorded = [row for row in standing if row.date <= self.closed]
        self.bills_of, self.payments_of = by_day(self.bills.values()), by_day(self.payments)
        self.credits_of, self.recorded_of = by_day(credits), by_day(self.recorded)
        # In the order in which they are used: open invoices by date and number, credit by age.
        self.open: dict[Hashable, None] = {}
        self.left: dict[Hashable, Decimal] = {}
        self.settled, self.owed = defaultdict(Decimal), defaultdict(Decimal)
        self.last: dict[Hashable, date] = {}
        self.parts = SettledParts()
        self.outcome = Outcome()
        self.taken_back = {paid.key: paid.takes_back for paid in self.payments}
        by_hand = chosen_parts(self.bills, self.payments, self.recorded, self.chosen, self.closed)
        self.hand_of = by_day(by_hand)
        self.set_aside, self.waiting = defaultdict(Decimal), defaultdict(Decimal)
        for row in by_hand:
            self.set_aside[row.payment] += row.amount
            self.waiting[row.invoice] += row.amount

    def work_out(self) -> Outcome:
        for day in self._days():
            for bill in self.bills_of[day]:
                self.owed[bill.key] += bill.total
                self.open[bill.key] = None
            for credit in self.credits_of[day]:
                self.owed[credit.invoice] -= credit.total
            for paid in self.payments_of[day]:
                if paid.amount > 0:
                    self.left[paid.key] = paid.without_tip - self.set_aside[paid.key]
            if day <= self.closed:
                self._stand(day)
            else:
                self._settle_day(day)
        self.outcome.credit = {key: left for key, left in self.left.items() if left > 0}
        return self.outcome

    def _days(self) -> list[date]:
        tables = (self.bills_of, self.payments_of, self.credits_of, self.hand_of, self.recorded_of)
        return sorted({day for table in tables for day in table})

    def _stand(self, day: date) -> None:
        """Take over a closed day as it is on record."""
        for row in self.recorded_of[day]:
            self._write(row)
            if row.payment in self.left:
                self.left[row.payment] -= row.amount
        for paid in self.payments_of[day]:
            if paid.amount < 0:
                reopened = sum((row.amount for row in self.recorded if row.payment == paid.key), ZERO)
                self._take_credit(reopened - paid.without_tip, first=paid.takes_back)

    def _settle_day(self, day: date) -> None:
        for row in self.hand_of[day]:
            self._settle_by_hand(row)
        if self.credits_of[day]:
            self._release_overpaid(day)
        come_in = [paid.key for paid in self.payments_of[day] if paid.amount > 0]
        self._use_credit(day, [key for key in self.left if key not in come_in])
        for key in come_in:
            self._use_credit(day, [key])
        for paid in self.payments_of[day]:
            if paid.amount < 0:
                self._refund(paid)

    def _settle_by_hand(self, row: Settled) -> None:
        """Settle what was set aside; what the invoice has no room for is the payment's to settle others."""
        self.waiting[row.invoice] -= row.amount
        part = min(row.amount, max(self.owed[row.invoice] - self.settled[row.invoice], ZERO))
        if part:
            self._write(replace(row, amount=part))
        self.left[row.payment] += row.amount - part

    def _release_overpaid(self, day: date) -> None:
        """Where credit notes leave an invoice settled by more than it is, give the rest back as credit.

        What was settled last comes first, of one day what was chosen by hand last.
        """
        for key in self.bills:
            over = self.settled[key] - max(self.owed[key], ZERO)
            for payment, part in self.parts.release(key, over):
                self._write(Settled(payment, key, day, -part), is_taken_off=True)
                self.left[payment] += part

    def _use_credit(self, day: date, payments: list[Hashable]) -> None:
        """Settle open invoices by date, then number, with what is left of these payments, oldest first."""
        payments = [key for key in payments if self.left[key] > 0]
        for invoice in list(self.open) if payments else ():
            room = self.owed[invoice] - self.settled[invoice] - self.waiting[invoice]
            for key in payments:
                part = min(room, self.left[key])
                if part > 0:
                    self._write(Settled(key, invoice, day, part))
                    self.left[key] -= part
                    room -= part

    def _refund(self, paid: Paid) -> None:
        need = -paid.without_tip
        for invoice, part in self.parts.of_payment(paid.takes_back):
            need -= self._reopen(paid, invoice, min(part, need), by_hand=True)
        if paid.takes_back is None and paid.invoice in self.bills:
            need -= self._reopen(paid, paid.invoice, need, by_hand=True)
        need = self._take_credit(need, first=paid.takes_back)
        while need > 0 and (key := self._settled_last()) is not None:
            need -= self._reopen(paid, key, need, by_hand=False)
        self.outcome.uncovered += need
        self._use_credit(paid.date, list(self.left))

    def _reopen(self, paid: Paid, key: Hashable, need: Decimal, by_hand: bool) -> Decimal:
        part = min(need, self.settled[key])
        if part > 0:
            self._write(Settled(paid.key, key, paid.date, -part, by_hand))
            self._open_again(key)
        return max(part, ZERO)

    def _settled_last(self) -> Hashable | None:
        """Return the invoice settled last; on one day the one dated later, then the higher number."""
        settled = [bill for bill in self.bills.values() if self.settled[bill.key] > 0]
        if not settled:
            return None
        return max(settled, key=lambda bill: (self.last[bill.key], bill.date, bill.number)).key

    def _take_credit(self, need: Decimal, first: Hashable = None) -> Decimal:
        """Take `need` from credit, of the payment `first`, then the oldest; return what it did not cover."""
        for key in sorted(self.left, key=lambda key: key != first):
            part = min(need, max(self.left[key], ZERO))
            self.left[key] -= part
            need -= part
        return need

    def _write(self, row: Settled, is_taken_off: bool = False) -> None:
        self.outcome.rows.append(row)
        self.settled[row.invoice] += row.amount
        if row.amount > 0:
            self.parts.add(row.invoice, SettledPart(row.payment, row.date, row.by_hand, row.amount))
            self.last[row.invoice] = row.date
            if self.settled[row.invoice] >= self.owed[row.invoice] > 0:
                self.open.pop(row.invoice, None)
        elif not is_taken_off:
            self.parts.take_off(row.invoice, self.taken_back.get(row.payment) or row.payment, -row.amount)

    def _open_again(self, key: Hashable) -> None:
        """Put a reopened invoice back in its place, by date and number."""
        self.open[key] = None
        self.open = {bill: None for bill in self.bills if bill in self.open}


def by_day(rows: Iterable) -> defaultdict:
    """Return rows by their date, in their order."""
    table = defaultdict(list)
    for row in rows:
        table[row.date].append(row)
    return table
