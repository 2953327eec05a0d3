"""What was billed, received and spent in a period, in the practice's currency."""

from decimal import Decimal

from billing.models import Expense, Invoice, Payment
from practice.lib.periods import Period


def billed_in(period: Period) -> Decimal:
    """Return the total of the invoices issued in a period, with tax."""
    return sum(Invoice.objects.within(period).values_list("total", flat=True), Decimal(0))


def received_in(period: Period) -> Decimal:
    """Return what came in during a period, tips included, less what went back."""
    return sum(Payment.objects.within(period).values_list("amount", flat=True), Decimal(0))


def spent_in(period: Period) -> Decimal:
    """Return what was spent in a period, less what came back."""
    return sum(Expense.objects.within(period).values_list("amount", flat=True), Decimal(0))
