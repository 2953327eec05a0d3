"""What a practice charges for paying late, where it does: a fee once an invoice, or simple interest. Pure.

Interest is the open amount of each day × percent a year ÷ 365: simple, never on a late fee or on interest.
A year of 365 days is common practice; no source.

A charge says in its `ref` what it is for, so that the book carries it and no period is charged twice.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

DAYS_OF_A_YEAR, PERCENT = 365, 100
ZERO, DAY = Decimal(0), timedelta(1)
FEE, INTEREST = "late-fee", "late-interest"


@dataclass(frozen=True)
class LateRule:
    """What the practice set: a `fee`, `percent` a year, or neither, and after how many days past due."""

    fee: Decimal | None = None
    percent: Decimal | None = None
    after_days: int = 0

    @property
    def is_on(self) -> bool:
        return bool(self.fee or self.percent)


@dataclass(frozen=True)
class LateInvoice:
    """An overdue invoice: what of it a late fee is for, and what took it off since, by day."""

    number: str
    due: date
    base: Decimal
    taken: tuple[tuple[date, Decimal], ...] = ()

    def open_on(self, day: date) -> Decimal:
        """Return what of the base was open at the end of a day."""
        return max(self.base - sum((amount for on, amount in self.taken if on <= day), ZERO), ZERO)


@dataclass(frozen=True)
class LateCharge:
    """A charge to propose: its `ref`, kind, amount before rounding, and the days that it is for."""

    ref: str
    kind: str
    amount: Decimal
    begin: date
    end: date


def late_charges(
    invoice: LateInvoice, rule: LateRule, charged: Iterable[str], on: date
) -> tuple[LateCharge, ...]:
    """Return what a late invoice may be charged on a day; `charged` are the refs of what it was charged.

    The fee comes once. Interest is for the days from the due date on that were not charged yet, up to `on`.
    """
    charged = set(charged)
    if (on - invoice.due).days <= rule.after_days or invoice.open_on(on) <= 0:
        return ()
    found = []
    ref = f"{FEE}/{invoice.number}"
    if rule.fee and ref not in charged:
        found.append(LateCharge(ref, FEE, rule.fee, invoice.due + DAY, on))
    if rule.percent:
        begin = max(charged_through(invoice.number, charged), invoice.due) + DAY
        if begin <= on:
            amount = interest(invoice, rule.percent, begin, on)
            ref = f"{INTEREST}/{invoice.number}/{begin.isoformat()}/{on.isoformat()}"
            found.append(LateCharge(ref, INTEREST, amount, begin, on))
    return tuple(found)


def charged_through(number: str, charged: Iterable[str]) -> date:
    """Return the last day that an invoice was charged interest for, the first of all days where none was."""
    ends = [date.min]
    for ref in charged:
        kind, _, rest = ref.partition("/")
        name, _, days = rest.rpartition("/")
        if kind == INTEREST and name.rpartition("/")[0] == number:
            ends.append(day_in(days))
    return max(ends)


def day_in(text: str) -> date:
    """Return the day at the end of a ref; the first of all days where somebody wrote something else."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return date.min


def interest(invoice: LateInvoice, percent: Decimal, begin: date, end: date) -> Decimal:
    """Return simple interest on what was open each day from `begin` to `end`, both included, not rounded."""
    turns = sorted({begin, *(on for on, _ in invoice.taken if begin < on <= end)})
    amount = ZERO
    for turn, after in zip(turns, [*turns[1:], end + DAY], strict=True):
        amount += invoice.open_on(turn) * (after - turn).days
    return amount * percent / PERCENT / DAYS_OF_A_YEAR
