"""What is left of sealants and adhesives by lot: what expires first is used first."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from stock.models import Item, Movement, Purchase, Valuation
from stock.rules.facts import REVERSAL, TRANSFER

ZERO = Decimal(0)
# Common practice, no source: about one order and one round of calls ahead.
SOON = timedelta(days=60)


@dataclass(frozen=True)
class LotLeft:
    """What is left of a lot, in the item's unit. `use_by` is the last day on which it may be used.

    `lot` blank and no date: what was never recorded.
    """

    item: Item
    lot: str
    use_by: date | None
    quantity: Decimal

    @property
    def name(self) -> str:
        return f"Lot {self.lot}" if self.lot else "No lot recorded"

    @property
    def full_name(self) -> str:
        """The item with its lot, where it has one: `Sole sealant, lot A`."""
        return f"{self.item}, lot {self.lot}" if self.lot else str(self.item)


@dataclass(frozen=True)
class LotMovement:
    """Units in (positive) or out (negative); `lot` and `use_by` where they are a delivery, or undo one."""

    quantity: Decimal
    lot: str = ""
    use_by: date | None = None
    is_delivery: bool = False


@dataclass
class _Lots:
    """Lots on a shelf. What comes back, or is counted as more, belongs to the lot last taken from."""

    left: dict[tuple[str, date | None], Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    opened: tuple[str, date | None] = ("", None)
    short: Decimal = ZERO

    def in_order(self) -> list[tuple[str, date | None]]:
        """Lots of which something is left: the earliest use-by first, those without one last."""
        return sorted((lot for lot in self.left if self.left[lot] > 0), key=lambda lot: lot[1] or date.max)

    def move(self, moved: LotMovement) -> None:
        named = (moved.lot, moved.use_by)
        if moved.quantity > 0:
            covered = min(self.short, moved.quantity)
            self.short -= covered
            self.left[named if moved.is_delivery else self.opened] += moved.quantity - covered
            return
        wanted = -moved.quantity
        first = [named] if moved.is_delivery and self.left[named] > 0 else []
        for lot in first + [lot for lot in self.in_order() if lot not in first]:
            part = min(wanted, self.left[lot])
            if part:
                self.left[lot] -= part
                wanted -= part
                self.opened = lot
        self.short += wanted


def lots_left(moves: Iterable[LotMovement]) -> list[tuple[str, date | None, Decimal]]:
    """Return (lot, use-by, quantity left) after these moves, the earliest use-by first. Pure."""
    lots = _Lots()
    for moved in moves:
        lots.move(moved)
    return [(*lot, lots.left[lot]) for lot in lots.in_order()]


def lots_on_hand(item_ids: Sequence[int], on: date) -> list[LotLeft]:
    """Return what is left of items by lot at the end of a day, the earliest use-by of all first."""
    if not item_ids:
        return []
    rows = (
        Valuation.objects.filter(item__in=item_ids, movement__date__lte=on)
        .exclude(kind=TRANSFER)
        .select_related("item", "movement__purchase", "movement__reverses__purchase")
        .order_by("item", "position")
    )
    moves: dict[Item, list[LotMovement]] = defaultdict(list)
    for row in rows:
        fact = row.movement.reverses if row.movement.kind == REVERSAL else row.movement
        purchase = getattr(fact, "purchase", None)
        delivery = (purchase.lot, purchase.use_by, True) if purchase else ()
        moves[row.item].append(LotMovement(row.quantity, *delivery))
    lots = [LotLeft(item, *left) for item, moved in moves.items() for left in lots_left(moved)]
    return sorted(lots, key=lambda row: (row.use_by or date.max, row.item.pk))


def expiring(on: date) -> list[LotLeft]:
    """Return the lots on hand that are past their use-by date or will be soon, the earliest first."""
    # Two steps, so that the few dated deliveries are found first, however long the ledger is.
    dated = list(Purchase.objects.filter(use_by__lte=on + SOON).values_list("movement", flat=True))
    facts = Movement.objects.filter(pk__in=dated, reversal__isnull=True)
    items = set(facts.values_list("item", flat=True)) if dated else set()
    return [row for row in lots_on_hand(sorted(items), on) if row.use_by and row.use_by <= on + SOON]
