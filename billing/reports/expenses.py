"""Which repeating expenses are due, and what was booked most and last."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import Expense, RepeatingExpense
from billing.rules.odd import MONTHS
from billing.rules.repeating import unanswered
from practice.lib.periods import add_months


@dataclass(frozen=True)
class ProposedExpense:
    """A repeating expense that is due: its oldest open day, and how many open days come after it."""

    expense: RepeatingExpense
    due: date
    more: int


def proposed_expenses(on: date) -> list[ProposedExpense]:
    """Return what is due up to a day and neither booked nor skipped, the oldest first."""
    proposals = []
    for row in RepeatingExpense.objects.select_related("vehicle").order_by("pk"):
        waiting = unanswered(row.valid_from, row.months, row.valid_to, row.answered_through, on)
        if waiting:
            proposals.append(ProposedExpense(row, waiting[0], len(waiting) - 1))
    return sorted(proposals, key=lambda proposal: proposal.due)


def lately_used(count: int) -> list[str]:
    """Return the categories of the last hundred expenses, the most used first, at most so many."""
    last = list(Expense.objects.order_by("-pk").values_list("category", flat=True)[:100])
    return sorted(set(last), key=lambda category: (-last.count(category), category))[:count]


def known_vendors(count: int) -> list[str]:
    """Return who was paid last, each once, at most so many."""
    names = Expense.objects.exclude(vendor="").order_by("-pk").values_list("vendor", flat=True)[:400]
    return list(dict.fromkeys(names))[:count]


def year_of_category(category: str, on: date, but: Expense | None = None) -> list[Decimal]:
    """Return the amounts of a category of the year that ends on a day, but for one expense."""
    rows = Expense.objects.filter(category=category, date__gt=add_months(on, -MONTHS), date__lte=on)
    return list(rows.exclude(pk=but and but.pk).values_list("amount", flat=True))
