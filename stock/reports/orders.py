"""What is on order, and what has come."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib import formats
from stock.models import Order, OrderLine, Purchase
from stock.rules.landing import amounts_of


def on_order(on: date) -> dict[int, Decimal]:
    """Return the units still to come at the end of a day, by the key of each item that is on order.

    Counted are orders placed by then, less what came by then and less what was canceled (whenever: a
    cancellation has no date). A line for which more came than was ordered counts as 0.
    """
    to_come: dict[int, Decimal] = defaultdict(Decimal)
    for line in OrderLine.objects.open(through=on).filter(order__ordered_on__lte=on):
        to_come[line.item_id] += line.to_come
    return dict(to_come)


def last_prices() -> dict[int, Decimal]:
    """Return what one unit was last expected to cost, by the key of each item ordered with a price."""
    priced = OrderLine.objects.filter(unit_price__isnull=False)
    return dict(priced.order_by("order__ordered_on", "pk").values_list("item", "unit_price"))


@dataclass(frozen=True)
class OrderSheet:
    """An order as its page shows it: its lines with what came, and its receipts that were not undone.

    `came_ever` counts all its receipts, with those that were undone.
    """

    order: Order
    lines: list[OrderLine]
    receipts: list[Purchase]
    came_ever: int

    @property
    def open_lines(self) -> list[OrderLine]:
        return [line for line in self.lines if line.to_come]

    @property
    def title(self) -> str:
        return self.order.title

    @property
    def heading(self) -> str:
        if not self.open_lines:
            return "Nothing more is to come." if self.receipts else "Canceled. Nothing is to come."
        items, still = formats.counted(len(self.lines), "item"), len(self.open_lines)
        return f"Still to come: {items if still == len(self.lines) else f'{still} of {items}'}."

    @property
    def can_change(self) -> bool:
        """Whether nothing has come and nothing was canceled."""
        return not self.came_ever and not any(line.cancelled for line in self.lines)


def order_sheet(order: Order) -> OrderSheet:
    """Return an order's lines in order of entry, and its receipts by date."""
    lines = OrderLine.objects.for_detail().filter(order=order)
    receipts = Purchase.objects.filter(order_line__order=order).select_related(
        "movement__item", "movement__reversal", "movement__location", "order_line"
    )
    standing = [row for row in receipts.order_by("movement__date", "pk") if not _is_undone(row)]
    return OrderSheet(order, list(lines), standing, len(receipts))


def _is_undone(purchase: Purchase) -> bool:
    return hasattr(purchase.movement, "reversal")


@dataclass(frozen=True)
class DeliveryDifference:
    """What a delivery came to before freight and tax, and how much more (below 0: less) than expected."""

    amount: Decimal
    over: Decimal


def delivery_difference(rows: Sequence, currency: str) -> DeliveryDifference:
    """Return it for rows with line, quantity and unit price; a line without a price expects what it cost."""
    charged = amounts_of([(row.quantity, row.unit_price) for row in rows], currency)
    prices = [row.unit_price if row.line.unit_price is None else row.line.unit_price for row in rows]
    expected = amounts_of([(row.quantity, price) for row, price in zip(rows, prices, strict=True)], currency)
    return DeliveryDifference(sum(charged), sum(charged) - sum(expected))
