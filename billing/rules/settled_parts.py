"""What settled each invoice and is still there: what is freed or given back comes off its end."""

from collections import defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass
class SettledPart:
    """What a payment settled of an invoice on a day, less what was taken back of it."""

    payment: Hashable
    date: date
    by_hand: bool
    left: Decimal


class SettledParts:
    """The parts of each invoice, in the order in which they settled it."""

    def __init__(self):
        self._of: dict[Hashable, list[SettledPart]] = defaultdict(list)

    def add(self, invoice: Hashable, part: SettledPart) -> None:
        self._of[invoice].append(part)

    def of_payment(self, payment: Hashable) -> list[tuple[Hashable, Decimal]]:
        """Return the invoices that a payment still settles, each with how much, the latest first."""
        parts = [(part.date, key, part) for key, rows in self._of.items() for part in rows]
        found = [(on, key, part.left) for on, key, part in parts if part.payment == payment and part.left > 0]
        found.sort(key=lambda row: row[0], reverse=True)
        return [(key, left) for _, key, left in found]

    def release(self, invoice: Hashable, over: Decimal) -> Iterator[tuple[Hashable, Decimal]]:
        """Take `over` off; give each payment and its part: the latest first, of one day by hand last."""
        parts = sorted(self._of[invoice], key=lambda part: (part.date, not part.by_hand))
        for part in reversed(parts):
            amount = min(over, part.left)
            if amount > 0:
                part.left -= amount
                over -= amount
                yield part.payment, amount

    def take_off(self, invoice: Hashable, payment: Hashable, amount: Decimal) -> None:
        """Take an amount off what `payment` settled, or off the last parts where it settled nothing."""
        parts = self._of[invoice]
        for part in reversed([part for part in parts if part.payment == payment] or parts):
            taken = min(amount, part.left)
            part.left -= taken
            amount -= taken
