"""The size grid: sizes across in the trade's order, patterns and fittings down."""

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from practice.lib import formats
from stock.models import Fits, Item, Side

LOW = 4


OTHER_SIDE = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}
SIDES = [Side.LEFT, Side.RIGHT, Side.ANY]
WORDS = {"low": "low", "none": "none", "below": "count", "lone": "no pair"}


@dataclass(frozen=True)
class Cell:
    """An item of the grid. `other` is what is on hand of its other side, None where it has no sides.

    `would_run_short` is what the planner says; None where it was not asked: then a few are low.
    `item` None: not stocked in this size.
    """

    item: Item | None
    on_hand: Decimal = Decimal(0)
    other: Decimal | None = None
    would_run_short: bool | None = None

    @property
    def state(self) -> str:
        """`enough`, `low`, `none`, `below` (zero), `lone` (the other side is out), or `not` (stocked)."""
        if self.item is None:
            return "not"
        if self.on_hand < 0:
            return "below"
        if self.on_hand == 0:
            return "none"
        if self.other is not None and self.other <= 0:
            return "lone"
        return "low" if self._is_low else "enough"

    @property
    def _is_low(self) -> bool:
        if self.would_run_short is not None:
            return self.would_run_short
        return self.on_hand < (LOW if self.item.kind == "shoe" else self.item.pack_size / 4)

    @property
    def word(self) -> str:
        """What the cell says beside its figure; blank where there is enough."""
        return WORDS.get(self.state, "")

    @property
    def pairs(self) -> int | None:
        """Whole pairs, one left and one right; None where it has no sides."""
        if self.other is None:
            return None
        return int(max(min(self.on_hand, self.other), Decimal(0)))

    @property
    def spoken(self) -> str:
        """What a screen reader says after the figure: `, no pair, 0 pairs`; blank where that is all."""
        pairs = "" if self.pairs is None else formats.counted(self.pairs, "pair")
        return "".join(f", {word}" for word in (self.word, pairs) if word)


@dataclass(frozen=True)
class GridRow:
    """A row: the pattern, and what tells it from others of its pattern (fitting, side)."""

    label: str
    detail: str
    cells: list[Cell]

    @property
    def side(self) -> str:
        """The side of the foot that its items are for, blank where they fit both."""
        return next(cell.item.side for cell in self.cells if cell.item)


@dataclass(frozen=True)
class Grid:
    """Sizes across, rows of patterns down; each row has a cell for each size."""

    sizes: list[str]
    rows: list[GridRow]


SIZE = re.compile(r"([^0-9]*)([0-9]*)(.*)", re.DOTALL)
HALF = ("1/2", "½", ".5")


def size_key(size: str) -> tuple:
    """Sort sizes in the trade's order: 000, 00, 0, 1, 1 1/2 … 10; then those that begin with a letter."""
    before, number, after = SIZE.fullmatch(size).groups()
    if number and not before and not after and set(number) == {"0"}:
        return 0, "", -len(number), False, size
    is_half = after.strip().startswith(HALF)
    return 1 if number and not before else 2, before, int(number or 0), is_half, size


def size_rows(
    items: Iterable[Item],
    on_hand: Mapping[int, Decimal],
    fits: str | None = None,
    low: Collection[int] | None = None,
) -> Grid:
    """Return the grid of shoes (or nails) of a fitting, with what is on hand by the item's key.

    `low` are the keys of the items that would run short; None: a few are low. The sides of a pattern are
    below each other, the rest in order of entry.
    """
    wanted = [item for item in items if fits is None or item.fits in (fits, Fits.ANY)]
    sizes = sorted({item.size for item in wanted}, key=size_key)
    on_side: dict[tuple, Decimal] = defaultdict(Decimal)
    for item in wanted:
        on_side[*_pattern(item), item.size, item.side] += on_hand.get(item.pk, Decimal(0))
    rows: dict[tuple, dict[str, Item]] = {}
    for item in wanted:
        copy = 0
        while item.size in rows.get((*_pattern(item), item.side, copy), {}):
            copy += 1  # two items of one pattern and size: a row of its own each
        rows.setdefault((*_pattern(item), item.side, copy), {})[item.size] = item
    patterns = list(dict.fromkeys(key[:4] for key in rows))
    in_order = sorted(rows, key=lambda key: (patterns.index(key[:4]), key[5], SIDES.index(key[4])))

    def cell(item: Item | None) -> Cell:
        if item is None:
            return Cell(None)
        side = OTHER_SIDE.get(item.side)
        other = on_side[*_pattern(item), item.size, side] if side else None
        short = None if low is None else item.pk in low
        return Cell(item, on_hand.get(item.pk, Decimal(0)), other, short)

    return Grid(
        sizes,
        [
            GridRow(key[0], _detail(key, fits), [cell(rows[key].get(size)) for size in sizes])
            for key in in_order
        ],
    )


def _pattern(item: Item) -> tuple[str, str, str, str]:
    return item.pattern or item.name, item.fits, item.clips, item.material


def _detail(key: tuple, fits: str | None) -> str:
    _, fitting, clips, material, side, copy = key
    words = [Fits(fitting).label.lower()] if fits is None and fitting != Fits.ANY else []
    words += [Side(side).label.lower()] if side != Side.ANY else []
    words += [word for word in (clips, material) if word]
    return ", ".join(words) + " ·" * copy
