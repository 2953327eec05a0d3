"""The truck's page and the page of one item: what is on hand, what is coming, and what is used."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib import formats
from practice.lib.charts import Chart
from practice.lib.profile import Profile
from stock.models import Balance, Item, ItemKind, Location
from stock.reports.counting import ToCount, things_to_count
from stock.reports.levels import on_hand
from stock.reports.lots import LotLeft, expiring, lots_on_hand
from stock.reports.orders import ExpectedDelivery, deliveries
from stock.reports.reorder import Suggestion
from stock.reports.sizes import Cell, Grid, size_rows
from stock.reports.usage import usage_chart

ZERO = Decimal(0)
FIRST_LOW = 5


@dataclass(frozen=True)
class TruckPage:
    """What is on the truck: shoes and nails by size, then the rest; what is low, to count, to use soon.

    `low` is what to order, and what may run short until its delivery, the soonest first.
    """

    grids: list[tuple[str, Grid]]
    others: list[Cell]
    low: list[Suggestion]
    to_count: list[ToCount]
    expiring: list[LotLeft]
    archived: bool

    @property
    def has_items(self) -> bool:
        return bool(self.others) or any(grid.rows for _, grid in self.grids)

    @property
    def heading(self) -> str:
        if not self.has_items:
            return "No items are archived." if self.archived else "The truck is empty."
        to_order = sum(row.packs > 0 for row in self.low)
        numbers = [
            (to_order, "to order"),
            (len(self.low) - to_order, "may run short until a delivery"),
            (len(self.to_count), "to count"),
        ]
        numbers = [(number, what) for number, what in numbers if number]
        if not numbers:
            return "Nothing is running low."
        (number, what), *rest = numbers
        return ", ".join([f"{formats.counted(number, 'item')} {what}", *(f"{n} {w}" for n, w in rest)]) + "."

    @property
    def first_low(self) -> list[Suggestion]:
        return self.low[:FIRST_LOW]

    @property
    def plan_words(self) -> str:
        """The words of the link to the whole plan."""
        return f"See all {len(self.low)}" if len(self.low) > FIRST_LOW else "See the plan"


def truck_page(on: date, low: Sequence[Suggestion], archived: bool = False) -> TruckPage:
    """Return the truck on a day; `low` is what to order or to wait for: it rests on horses unknown here."""
    items, left = list(Item.objects.for_truck(archived)), on_hand()
    short = {row.item.pk for row in low}
    shoes, nails = ([item for item in items if item.kind == kind] for kind in (ItemKind.SHOE, ItemKind.NAIL))
    return TruckPage(
        grids=[("Shoes", size_rows(shoes, left, low=short)), ("Nails", size_rows(nails, left, low=short))],
        others=[
            Cell(item, left.get(item.pk, ZERO))
            for item in items
            if item.kind not in (ItemKind.SHOE, ItemKind.NAIL)
        ],
        low=list(low),
        to_count=things_to_count(on),
        expiring=expiring(on),
        archived=archived,
    )


@dataclass(frozen=True)
class ItemSheet:
    """An item on a day, quantities in its unit: on hand and where, on order, its lots, use by month.

    `deliveries` are what is on order, soonest first.
    """

    item: Item
    balances: list[Balance]
    deliveries: list[ExpectedDelivery]
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
        deliveries=deliveries(on, profile).get(item.pk, []),
        lots=lots_on_hand([item.pk], on) if item.has_lots else [],
        chart=usage_chart(item, on, profile),
        can_move=Location.objects.count() > 1,
    )
