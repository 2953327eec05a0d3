"""What is possible but odd about money: asked once on a page, warned about by an import."""

from decimal import Decimal

# A deposit for a few visits happens; a slip of the decimal point is ten times too much. Common practice, no
# source.
TIMES_OWED = 10


def times_owed(amount: Decimal, owed: Decimal) -> int | None:
    """Return how many times what is owed an amount is, rounded down, from ten times on; else None.

    None too where nothing is owed: there is nothing to compare with.
    """
    if owed <= 0 or amount < TIMES_OWED * owed:
        return None
    return int(amount // owed)
