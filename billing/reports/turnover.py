"""What was billed, received and spent in a period, and what is open; in the practice's currency."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import CreditNote, Equipment, Expense, Invoice, Payment, RepeatingExpense
from practice.lib.periods import Period


@dataclass(frozen=True)
class CountAndSum:
    """How many amounts there are, and what they add up to."""

    count: int
    sum: Decimal

    @classmethod
    def of(cls, amounts: Iterable[Decimal]) -> "CountAndSum":
        amounts = list(amounts)
        return cls(len(amounts), sum(amounts, Decimal(0)))


def billed_in(period: Period) -> CountAndSum:
    """Return how many invoices were issued in a period, and their totals with tax, less its credit notes."""
    billed = CountAndSum.of(Invoice.objects.within(period).values_list("total", flat=True))
    return CountAndSum(billed.count, billed.sum - credited_in(period).sum)


def credited_in(period: Period) -> CountAndSum:
    """Return the credit notes of a period and their totals, with tax."""
    return CountAndSum.of(CreditNote.objects.within(period).values_list("total", flat=True))


def open_invoices() -> CountAndSum:
    """Return the invoices that something is left to pay of, and what is left to pay of them."""
    return CountAndSum.of(invoice.open for invoice in Invoice.objects.outstanding())


def received_in(period: Period) -> CountAndSum:
    """Return the payments of a period and what came in, tips included, less what went back."""
    return CountAndSum.of(Payment.objects.within(period).values_list("amount", flat=True))


def spent_in(period: Period) -> CountAndSum:
    """Return the expenses of a period and what was spent, less what came back."""
    return CountAndSum.of(Expense.objects.within(period).values_list("amount", flat=True))


def repeating_on(day: date) -> CountAndSum:
    """Return the repeating expenses that have not ended on a day, and what they cost in a year."""
    rows = RepeatingExpense.objects.all()
    return CountAndSum.of(row.in_a_year for row in rows if row.valid_to is None or row.valid_to >= day)


def equipment_in_use() -> CountAndSum:
    """Return the tools in use, and what they cost."""
    return CountAndSum.of(Equipment.objects.in_use().values_list("cost", flat=True))
