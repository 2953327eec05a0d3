"""The rows of a client's account that settling works with: plain values."""

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

ZERO = Decimal(0)


@dataclass(frozen=True)
class Bill:
    """An invoice: its total in the practice's currency."""

    key: Hashable
    number: str
    date: date
    total: Decimal


@dataclass(frozen=True)
class CreditNoteValue:
    """A credit note: the amount that it takes off the invoice that it names."""

    invoice: Hashable
    date: date
    total: Decimal


@dataclass(frozen=True)
class Paid:
    """A payment, below zero a refund; `tip` settles nothing. `invoice` is the one it names, by hand.

    `order` is the order of entry. `takes_back`: the check that bounced; then its tip is below zero, too.
    """

    key: Hashable
    order: int
    date: date
    amount: Decimal
    tip: Decimal = ZERO
    invoice: Hashable = None
    takes_back: Hashable = None

    @property
    def without_tip(self) -> Decimal:
        """What of it settles invoices or becomes credit; below zero what is taken back."""
        return self.amount - self.tip


@dataclass(frozen=True)
class Settled:
    """The part of a payment that goes to an invoice on a day; below zero where a refund reopens it."""

    payment: Hashable
    invoice: Hashable
    date: date
    amount: Decimal
    by_hand: bool = False
