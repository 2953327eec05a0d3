"""What moved a client's account in a period, with the balance after each. Pure, on plain values.

The balance is invoices − credit notes − payments + refunds: above zero the client owes it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

INVOICE, CREDIT_NOTE, PAYMENT, REFUND, BOUNCED = "invoice", "credit note", "payment", "refund", "bounced"
# The order in which the settling takes what is of one day.
ORDER = (INVOICE, CREDIT_NOTE, PAYMENT, REFUND, BOUNCED)


@dataclass(frozen=True)
class Move:
    """What changed an account on a day: above zero more is owed, below zero less.

    `name` is a document's number, or how something was paid; `invoice` the number of the invoice that it
    names, `due` an invoice's due date, `tip` what of a payment settles nothing; `order` the order of entry.
    """

    date: date
    kind: str
    order: int
    amount: Decimal
    name: str = ""
    invoice: str = ""
    due: date | None = None
    tip: Decimal = Decimal(0)

    @property
    def place(self) -> tuple:
        """Where it stands among the others: by day, then by kind, then as entered."""
        return self.date, ORDER.index(self.kind), self.order


@dataclass(frozen=True)
class BalancedMove:
    """A move, and the balance after it."""

    move: Move
    balance: Decimal


@dataclass(frozen=True)
class Course:
    """The balance before a period, what moved it, and the balance at its end."""

    opening: Decimal
    rows: tuple[BalancedMove, ...]
    closing: Decimal


def course_of(moves: Iterable[Move], begin: date, end: date) -> Course:
    """Return the course of an account from one day to another, both included."""
    moves = sorted(moves, key=lambda move: move.place)
    balance = opening = sum((move.amount for move in moves if move.date < begin), Decimal(0))
    rows = []
    for move in moves:
        if begin <= move.date <= end:
            balance += move.amount
            rows.append(BalancedMove(move, balance))
    return Course(opening, tuple(rows), balance)
