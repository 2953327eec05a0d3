"""How old what is owed is, counted from the due date, and how long clients take to pay. Pure.

The spans of 30 days are common practice in accounts receivable; no source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median

ZERO = Decimal(0)
# How a span is called, and its last day past due.
NOT_DUE, LAST = "Not due yet", "Over 90 days"
SPANS = (NOT_DUE, "1–30 days", "31–60 days", "61–90 days", LAST)
LAST_DAYS = (0, 30, 60, 90)


@dataclass(frozen=True)
class OpenAmount:
    """What is left to pay of one invoice."""

    due: date
    amount: Decimal


def span_of(due: date, on: date) -> int:
    """Return which of `SPANS` something due on a day is in on another: 0 where it is not overdue."""
    days = (on - due).days
    return sum(days > last for last in LAST_DAYS)


def by_age(amounts: Iterable[OpenAmount], on: date) -> tuple[Decimal, ...]:
    """Return what is owed in each of `SPANS`; together that is all of it."""
    sums = [ZERO] * len(SPANS)
    for each in amounts:
        sums[span_of(each.due, on)] += each.amount
    return tuple(sums)


@dataclass(frozen=True)
class BilledAndSettled:
    """An invoice with what was paid and what was credited of it, by day; below zero what was reopened."""

    issued: date
    total: Decimal
    paid: tuple[tuple[date, Decimal], ...] = ()
    credited: tuple[tuple[date, Decimal], ...] = ()

    @property
    def days_to_pay(self) -> int | None:
        """Days from the invoice to the day since which nothing is left to pay.

        None while something is, and where nothing of it was paid: a credit note pays no invoice.
        """
        if sum((amount for _, amount in self.paid), ZERO) <= 0:
            return None
        left, since = self.total, None
        for day, amount in sorted((*self.paid, *self.credited)):
            left -= amount
            if left > 0:
                since = None
            elif since is None:
                since = day
        return None if since is None else max((since - self.issued).days, 0)


@dataclass(frozen=True)
class DaysToPay:
    """The median of days from invoice to full settlement, and how many invoices it rests on."""

    days: Decimal
    invoices: int


def days_to_pay(invoices: Iterable[BilledAndSettled]) -> DaysToPay | None:
    """Return how long these invoices took to be paid in full; None where none of them is."""
    days = [each.days_to_pay for each in invoices]
    settled = [Decimal(each) for each in days if each is not None]
    return DaysToPay(median(settled), len(settled)) if settled else None
