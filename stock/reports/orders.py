"""What is on order, and what has come."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib import formats
from practice.lib.profile import Profile
from stock.models import Order, OrderLine, Purchase
from stock.rules.landing import amounts_of


@dataclass(frozen=True)
class ExpectedDelivery:
    """Units of an item that are still to come, and the day they are expected, which may have passed."""

    day: date
    quantity: Decimal


def deliveries(on: date, profile: Profile) -> dict[int, list[ExpectedDelivery]]:
    """Return what is still to come at the end of a day, soonest first, by the key of each item on order.

    Counted are orders placed by then, less what came by then and less what was canceled (whenever: a
    cancellation has no date). A line for which more came than was ordered counts as 0.
    """
    by_day: dict[int, dict[date, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for line in OrderLine.objects.open(through=on).filter(order__ordered_on__lte=on).with_lead_times():
        by_day[line.item_id][line.expected_on(profile.lead_time_days)] += line.to_come
    return {
        item: [ExpectedDelivery(day, quantity) for day, quantity in sorted(days.items())]
        for item, days in by_day.items()
    }


def on_order(on: date) -> dict[int, Decimal]:
    """Return the units still to come at the end of a day, as `deliveries`, by the item's key."""
    return {
        item: sum((row.quantity for row in rows), Decimal(0))
        for item, rows in deliveries(on, Profile.current()).items()
    }


def last_prices() -> dict[int, Decimal]:
    """Return what one unit was last expected to cost, by the key of each item ordered with a price."""
    priced = OrderLine.objects.filter(unit_price__isnull=False)
    return dict(priced.order_by("order__ordered_on", "pk").values_list("item", "unit_price"))


@dataclass(frozen=True)
class OrderSheet:
    """An order as its page shows it: its lines with what came, and its receipts that were not undone.

    `came_ever` counts all its receipts, with those that were undone. `expected` are the days on which what
    is still to come is expected, in order.
    """

    order: Order
    lines: list[OrderLine]
    receipts: list[Purchase]
    came_ever: int
    expected: list[date]

    def expected_in_words(self, on: date, locale: str) -> str:
        """Say when what is to come is expected: `Expected Tue, Dec 1.`; blank where nothing is to come."""
        if not self.expected:
            return ""
        first, last = self.expected[0], self.expected[-1]
        days = formats.short_date(first, locale)
        if first != last:
            days = f"between {days} and {formats.short_date(last, locale)}"
        return f"{'Was expected' if last < on else 'Expected'} {days}."

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
    lines = list(OrderLine.objects.for_detail().filter(order=order))
    lead_time_days = Profile.current().lead_time_days
    expected = sorted({line.expected_on(lead_time_days) for line in lines if line.to_come})
    receipts = Purchase.objects.filter(order_line__order=order).select_related(
        "movement__item", "movement__reversal", "movement__location", "order_line"
    )
    standing = [row for row in receipts.order_by("movement__date", "pk") if not _is_undone(row)]
    return OrderSheet(order, lines, standing, len(receipts), expected)


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
