"""The truck's page and the page of one item: what is on hand, what is coming, and what is used."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib import formats
from practice.lib.charts import Chart
from practice.lib.profile import Profile
from stock.models import Balance, Item, ItemKind, Location
from stock.reports.levels import on_hand
from stock.reports.lots import LotLeft, expiring, lots_on_hand
from stock.reports.orders import on_order
from stock.reports.reorder import Suggestion
from stock.reports.sizes import Cell, Grid, size_rows
from stock.reports.usage import usage_chart

ZERO = Decimal(0)
FIRST_TO_ORDER = 5


@dataclass(frozen=True)
class TruckPage:
    """What is on the truck: shoes and nails by size, then the rest; what to order, to count, to use soon."""

    grids: list[tuple[str, Grid]]
    others: list[Cell]
    to_order: list[Suggestion]
    to_count: list[Item]
    expiring: list[LotLeft]
    archived: bool

    @property
    def has_items(self) -> bool:
        return bool(self.others) or any(grid.rows for _, grid in self.grids)

    @property
    def heading(self) -> str:
        if not self.has_items:
            return "No items are archived." if self.archived else "The truck is empty."
        if self.to_count:
            return f"{formats.counted(len(self.to_count), 'item')} to count."
        if self.to_order:
            return f"{formats.counted(len(self.to_order), 'item')} to order."
        return "Nothing is running low."

    @property
    def first_to_order(self) -> list[Suggestion]:
        return self.to_order[:FIRST_TO_ORDER]

    @property
    def plan_words(self) -> str:
        """The words of the link to the whole plan."""
        return f"See all {len(self.to_order)}" if len(self.to_order) > FIRST_TO_ORDER else "See the plan"


def truck_page(on: date, to_order: Sequence[Suggestion], archived: bool = False) -> TruckPage:
    """Return the truck on a day; `to_order` are the day's suggestions, which rest on horses unknown here."""
    items, left = list(Item.objects.for_truck(archived)), on_hand()
    low = {row.item.pk for row in to_order}
    shoes, nails = ([item for item in items if item.kind == kind] for kind in (ItemKind.SHOE, ItemKind.NAIL))
    return TruckPage(
        grids=[("Shoes", size_rows(shoes, left, low=low)), ("Nails", size_rows(nails, left, low=low))],
        others=[
            Cell(item, left.get(item.pk, ZERO))
            for item in items
            if item.kind not in (ItemKind.SHOE, ItemKind.NAIL)
        ],
        to_order=list(to_order),
        to_count=list(Item.objects.below_zero()),
        expiring=expiring(on),
        archived=archived,
    )


@dataclass(frozen=True)
class ItemSheet:
    """An item on a day, quantities in its unit: on hand and where, on order, its lots, use by month."""

    item: Item
    balances: list[Balance]
    on_order: Decimal
    lots: list[LotLeft]
    chart: Chart | None
    can_move: bool

    @property
    def on_hand(self) -> Decimal:
        return self.item.shelf.on_hand if hasattr(self.item, "shelf") else ZERO

    @property
    def value(self) -> Decimal:
        return self.item.shelf.value if hasattr(self.item, "shelf") else ZERO


def item_sheet(item: Item, on: date, profile: Profile) -> ItemSheet:
    """Return what an item's page shows on a day, besides its ledger; fetch the item `for_detail()`."""
    balances = item.balances.filter(location__isnull=False).select_related("location").order_by("location")
    return ItemSheet(
        item=item,
        balances=list(balances),
        on_order=on_order(on).get(item.pk, ZERO),
        lots=lots_on_hand([item.pk], on) if item.has_lots else [],
        chart=usage_chart(item, on, profile),
        can_move=Location.objects.count() > 1,
    )
