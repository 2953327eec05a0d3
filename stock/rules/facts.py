"""The facts of one item and where its costing stands: plain values.

Quantities are in the item's unit; costs and values in the practice's currency, to four decimals,
half away from zero. What one unit costs is a fraction: it is never rounded.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

ZERO = Decimal(0)
COST_DIGITS = 4

RECEIPT, VISIT_RETURN, USE = "receipt", "visit return", "use"
SUPPLIER_RETURN, WASTE, WITHDRAWAL = "supplier return", "waste", "withdrawal"
TRANSFER, COUNT, REVERSAL, CORRECTION = "transfer", "count", "reversal", "correction"
ORDER_OF_THE_DAY = (
    RECEIPT,
    VISIT_RETURN,
    USE,
    SUPPLIER_RETURN,
    WASTE,
    WITHDRAWAL,
    TRANSFER,
    COUNT,
)
AVERAGE, FIFO = "moving_average", "fifo"
RANK = {kind: rank for rank, kind in enumerate(ORDER_OF_THE_DAY)}
IN_THE_LEDGER = {VISIT_RETURN: "return", SUPPLIER_RETURN: "return"}


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact of one item. `quantity` is never negative; a count's is what was counted at its location.

    `unit_cost` is a receipt's landed cost, or what was typed with an opening count. `job` is the key
    that a use shares with the returns of what it took. A `reversal` here is a late one: the fact that it
    undoes, `reverses`, is of closed years.
    """

    key: int
    date: date
    kind: str
    quantity: Decimal
    unit_cost: Decimal | None = None
    location: int | None = None
    to_location: int | None = None
    job: str = ""
    reverses: int | None = None


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """A row of the ledger: what a fact moved and cost, with their sign, and what was left after it."""

    fact: int
    kind: str
    quantity: Decimal
    cost: Decimal
    location: int | None
    on_hand: Decimal
    value: Decimal


@dataclass
class Layer:
    """Units of FIFO's queue that came in together, at what one of them cost."""

    quantity: Decimal
    unit_cost: Fraction


@dataclass
class ShortUnits:
    """Units that a use took below zero, the cost booked for them, and the job that took them."""

    quantity: Decimal
    booked: Decimal
    job: str = ""

    def take(self, quantity: Decimal) -> Decimal:
        """Remove some of the units; return the cost booked for them: for the last ones, all that is left."""
        part = self.booked if quantity == self.quantity else part_of(self.booked, quantity, self.quantity)
        self.quantity -= quantity
        self.booked -= part
        return part


@dataclass
class CostingState:
    """Where the costing of an item stands. `short` is oldest first; `layers` are FIFO's alone.

    `opened` is the day of the opening counts; `known` says whether a cost is known; `method` is what costed
    it last, blank for an untouched shelf. `jobs` holds what is out at each job, quantity and cost,
    corrections included: it grows with the ledger and is rarely looked back at, so plain data leaves it out.
    """

    quantity: Decimal = ZERO
    value: Decimal = ZERO
    last_cost: Fraction = Fraction(0)
    known: bool = False
    opened: date | None = None
    begun: bool = False
    method: str = ""
    short: list[ShortUnits] = field(default_factory=list)
    layers: list[Layer] = field(default_factory=list)
    at: dict[int | None, Decimal] = field(default_factory=dict)
    jobs: dict[str, tuple[Decimal, Decimal]] = field(default_factory=dict)

    def turn_to(self, method: str) -> None:
        """Go on by another method. What is there keeps its value: FIFO begins with one layer of it."""
        if method == self.method:
            return
        one_layer = method == FIFO and self.quantity > 0
        self.layers = (
            [Layer(self.quantity, Fraction(self.value) / Fraction(self.quantity))] if one_layer else []
        )
        self.method = method

    def as_plain(self) -> dict:
        """Return the state as plain data for JSON, numbers as text, without `jobs`."""
        return {
            "quantity": str(self.quantity),
            "value": str(self.value),
            "last_cost": str(self.last_cost),
            "known": self.known,
            "opened": self.opened.isoformat() if self.opened else None,
            "begun": self.begun,
            "method": self.method,
            "short": [[str(units.quantity), str(units.booked), units.job] for units in self.short],
            "layers": [[str(layer.quantity), str(layer.unit_cost)] for layer in self.layers],
            "at": [[location, str(quantity)] for location, quantity in self.at.items()],
        }

    @classmethod
    def from_plain(cls, plain: dict) -> "CostingState":
        """Return the state that `as_plain` gave; an empty dict is an untouched shelf."""
        if not plain:
            return cls()
        return cls(
            quantity=Decimal(plain["quantity"]),
            value=Decimal(plain["value"]),
            last_cost=Fraction(plain["last_cost"]),
            known=plain["known"],
            opened=date.fromisoformat(plain["opened"]) if plain["opened"] else None,
            begun=plain["begun"],
            method=plain.get("method", ""),
            short=[
                ShortUnits(Decimal(quantity), Decimal(booked), job)
                for quantity, booked, job in plain["short"]
            ],
            layers=[Layer(Decimal(quantity), Fraction(cost)) for quantity, cost in plain["layers"]],
            at={location: Decimal(quantity) for location, quantity in plain["at"]},
        )


@dataclass(frozen=True)
class LedgerMark:
    """Where a ledger can go on from: after the rows of `fact`, the first `rows` of all, with that state."""

    fact: int
    rows: int
    state: dict


@dataclass
class Ledger:
    """Rows, the state after them, warnings for the farrier, and marks to go on from."""

    rows: list[LedgerRow]
    state: CostingState
    warnings: list[str]
    marks: list[LedgerMark]


def method_on(on: date, method: str, changes: Sequence[tuple[date, str]]) -> str:
    """Return the method that holds on a day: that of the last change by then, else `method`."""
    return next((changed for since, changed in reversed(changes) if since <= on), method)


def round4(amount: Fraction) -> Decimal:
    """Return a cost to four decimals, half away from zero."""
    size = (abs(amount) * 2 * 10**COST_DIGITS + 1) // 2
    return Decimal(size if amount >= 0 else -size).scaleb(-COST_DIGITS)


def cost_of(quantity: Decimal, unit_cost: Fraction) -> Decimal:
    """Return what some units cost."""
    return round4(Fraction(quantity) * unit_cost)


def part_of(cost: Decimal, quantity: Decimal, whole: Decimal) -> Decimal:
    """Return the part of a cost that falls to `quantity` of the `whole`."""
    return round4(Fraction(cost) * Fraction(quantity) / Fraction(whole))
