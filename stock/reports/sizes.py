"""The size grid: sizes across in the trade's order, patterns and fittings down."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from stock.models import Fits, Item

LOW = 4


@dataclass(frozen=True)
class Cell:
    """An item of the grid. `state`: enough, low, none, below (zero); blank where it is not kept."""

    item: Item | None
    on_hand: Decimal = Decimal(0)

    @property
    def state(self) -> str:
        if self.item is None:
            return "not"
        if self.on_hand < 0:
            return "below"
        if self.on_hand == 0:
            return "none"
        low = LOW if self.item.kind == "shoe" else self.item.pack_size / 4
        return "low" if self.on_hand < low else "enough"


@dataclass(frozen=True)
class GridRow:
    label: str
    cells: list[Cell]


@dataclass(frozen=True)
class Grid:
    sizes: list[str]
    rows: list[GridRow]


def size_key(size: str) -> tuple:
    """Sort sizes in the trade's order: 000, 00, 0, 1 … 10, then anything else by its text."""
    if size and set(size) == {"0"}:
        return 0, -len(size), size
    if size.isascii() and size.isdigit():
        return 1, int(size), size
    head = size.split("/")[0]
    if head.isascii() and head.isdigit():
        return 1, int(head), size
    return 2, 0, size


def size_rows(items: Iterable[Item], on_hand: Mapping[int, Decimal], fits: str | None = None) -> Grid:
    """Return the grid of shoes (or nails) of a fitting, with what is on hand by the item's key."""
    wanted = [item for item in items if fits is None or item.fits in (fits, Fits.ANY)]
    sizes = sorted({item.size for item in wanted}, key=size_key)
    rows: dict[str, dict[str, Item]] = {}
    for item in wanted:
        side = "" if item.side == "any" else f", {item.get_side_display().lower()}"
        label = (item.pattern or item.name) + ("" if fits else _fitting(item)) + side
        while item.size in rows.get(label, {}):  # two items of one pattern and size: a row of its own each
            label += " ·"
        rows.setdefault(label, {})[item.size] = item
    return Grid(
        sizes,
        [
            GridRow(
                label,
                [
                    Cell(row[size], on_hand.get(row[size].pk, Decimal(0))) if size in row else Cell(None)
                    for size in sizes
                ],
            )
            for label, row in rows.items()
        ],
    )


def _fitting(item: Item) -> str:
    return "" if item.fits == Fits.ANY else f" {item.get_fits_display().lower()}"
