"""What is possible but odd about money: asked once on a page, warned about by an import."""

from decimal import Decimal

# Paying for a few visits ahead happens; beyond that it is more likely a slip. Common practice, no source.
TIMES_OWED = 3


def times_owed(amount: Decimal, owed: Decimal) -> int | None:
    """Return how many times what is owed an amount is, rounded down, where that is far above it; else None.

    None too where nothing is owed: there is nothing to compare with.
    """
    if owed <= 0 or amount <= TIMES_OWED * owed:
        return None
    return int(amount // owed)
