"""The facts of one item and where its costing stands: plain values.

Quantities are in the item's unit; costs and values in the practice's currency, to four decimals,
half away from zero.
"""

from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

ZERO = Decimal(0)
CENT_OF_A_CENT = Decimal("0.0001")

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
RANK = {kind: rank for rank, kind in enumerate(ORDER_OF_THE_DAY)}
IN_THE_LEDGER = {VISIT_RETURN: "return", SUPPLIER_RETURN: "return"}


@dataclass(frozen=True)
class Fact:
    """A fact of one item. `quantity` is never negative; a count's is what was found at its location.

    `unit_cost` is a receipt's landed cost, or what was typed with an opening count. `job` is the key
    that a use shares with the returns of what it took. A `reversal` here stands by itself: the fact
    that it takes back, `reverses`, lies in closed years.
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


@dataclass(frozen=True)
class Row:
    """A row of the ledger: what a fact moved and cost, with their sign, and what was left after it."""

    fact: int
    kind: str
    quantity: Decimal
    cost: Decimal
    location: int | None
    on_hand: Decimal
    value: Decimal


@dataclass
class Lot:
    """Units that belong together: a layer of the shelf, or units short with what was booked for them."""

    quantity: Decimal
    value: Decimal
    job: str = ""

    @property
    def unit_cost(self) -> Decimal:
        return self.value / self.quantity

    def take(self, quantity: Decimal) -> Decimal:
        """Take some of the units out; return their part of the value, the last ones what is left of it."""
        part = self.value if quantity == self.quantity else round4(self.value * quantity / self.quantity)
        self.quantity -= quantity
        self.value -= part
        return part


@dataclass
class State:
    """Where the costing of an item stands. `short` is oldest first; `layers` are FIFO's alone.

    `jobs` holds what is out at each job: quantity and cost, corrections included. `opened` is the
    day of the opening counts; `known` says whether a cost is known.
    """

    quantity: Decimal = ZERO
    value: Decimal = ZERO
    last_cost: Decimal = ZERO
    known: bool = False
    opened: date | None = None
    begun: bool = False
    short: list[Lot] = field(default_factory=list)
    layers: list[Lot] = field(default_factory=list)
    at: dict[int | None, Decimal] = field(default_factory=dict)
    jobs: dict[str, tuple[Decimal, Decimal]] = field(default_factory=dict)

    def as_plain(self) -> dict:
        """Return the state as plain data for JSON, numbers as text."""
        return {
            "quantity": str(self.quantity),
            "value": str(self.value),
            "last_cost": str(self.last_cost),
            "known": self.known,
            "opened": self.opened.isoformat() if self.opened else None,
            "begun": self.begun,
            "short": [[str(lot.quantity), str(lot.value), lot.job] for lot in self.short],
            "layers": [[str(lot.quantity), str(lot.value)] for lot in self.layers],
            "at": [[where, str(quantity)] for where, quantity in self.at.items()],
            "jobs": {job: [str(quantity), str(cost)] for job, (quantity, cost) in self.jobs.items()},
        }

    @classmethod
    def from_plain(cls, plain: dict) -> "State":
        """Return the state that `as_plain` gave; an empty dict is an untouched shelf."""
        if not plain:
            return cls()
        return cls(
            quantity=Decimal(plain["quantity"]),
            value=Decimal(plain["value"]),
            last_cost=Decimal(plain["last_cost"]),
            known=plain["known"],
            opened=date.fromisoformat(plain["opened"]) if plain["opened"] else None,
            begun=plain["begun"],
            short=[Lot(Decimal(quantity), Decimal(value), job) for quantity, value, job in plain["short"]],
            layers=[Lot(Decimal(quantity), Decimal(value)) for quantity, value in plain["layers"]],
            at={where: Decimal(quantity) for where, quantity in plain["at"]},
            jobs={job: (Decimal(quantity), Decimal(cost)) for job, (quantity, cost) in plain["jobs"].items()},
        )


@dataclass
class Ledger:
    """Rows, the state after them, and what the farrier should know."""

    rows: list[Row]
    state: State
    warnings: list[str]


def round4(amount: Decimal) -> Decimal:
    """Return a cost to four decimals, half away from zero."""
    return amount.quantize(CENT_OF_A_CENT, rounding=ROUND_HALF_UP) + 0
