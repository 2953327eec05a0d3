"""What is possible but odd about money: asked once on a page, warned about by an import."""

from collections.abc import Sequence
from decimal import Decimal

from stock.rules.odd import times_usual

# A deposit for a few visits happens; a slip of the decimal point is ten times too much. Common practice, no
# source.
TIMES_OWED = 10
# With fewer expenses of a category in a year nothing is usual yet. Common practice, no source.
LEAST_EXPENSES, MONTHS = 5, 12


def times_owed(amount: Decimal, owed: Decimal) -> int | None:
    """Return how many times what is owed an amount is, rounded down, from ten times on; else None.

    None too where nothing is owed: there is nothing to compare with.
    """
    if owed <= 0 or amount < TIMES_OWED * owed:
        return None
    return int(amount // owed)


def times_usual_expense(amount: Decimal, before: Sequence[Decimal]) -> int | None:
    """Return how many times the usual of its category an expense is, where that is more than ten; else None.

    `before` are the category's other amounts of the year up to its day.
    """
    return times_usual(amount, before) if len(before) >= LEAST_EXPENSES else None
