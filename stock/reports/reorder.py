"""What to order now, by item and size.

What is expected to be used comes as an argument: the shelf knows no horses.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from practice.lib import formats
from practice.lib.profile import Profile
from stock.models import Item
from stock.reports.demand import Expected, Planner
from stock.reports.orders import ExpectedDelivery
from stock.rules.planning import Demand, quantity_to_order

ZERO = Decimal(0)


@dataclass(frozen=True)
class Shortage:
    """An item may run short while something is on order: from a day on, until the delivery of another.

    `until` may have passed: a delivery that is late.
    """

    first: date
    until: date


@dataclass(frozen=True)
class Suggestion:
    """What to order of one item on a day, and why. Quantities in its unit.

    `demand` and `order_point` are over lead time plus review period; `chance_of_running_out` is the chance
    that it takes more than is on hand and on order; `first_short_on` the first day by which that chance is
    above what the service level allows, if any. `deliveries` are what is on order, soonest first;
    `shortage` is one before they come, whether or not there is something to order.
    """

    item: Item
    on: date
    on_hand: Decimal
    deliveries: tuple[ExpectedDelivery, ...]
    lead_time_days: int
    review_period_days: int
    demand: Demand
    order_point: Decimal
    packs: int
    first_short_on: date | None
    shortage: Shortage | None

    @property
    def on_order(self) -> Decimal:
        return sum((row.quantity for row in self.deliveries), ZERO)

    @property
    def short_from(self) -> date | None:
        """The first day by which it may run short, before a delivery or for good; None: there is enough."""
        return self.shortage.first if self.shortage else self.first_short_on

    def arrival(self, delivery: ExpectedDelivery) -> date:
        """Return the day from which a delivery is counted on: a late one may come tomorrow."""
        return max(delivery.day, self.on + timedelta(days=1))

    def in_words(self, locale: str) -> str:
        """Say what there is: `−1 on hand, 20 on order, expected Tue, Dec 1: may run short until then`."""
        on_hand = f"{formats.quantity(self.on_hand, locale)} on hand"
        if not self.deliveries:
            return on_hand
        day = self.shortage.until if self.shortage else self.deliveries[0].day
        coming = sum((row.quantity for row in self.deliveries if row.day <= day), ZERO)
        on_order = f"{formats.quantity(self.on_order, locale)} on order"
        part = "" if coming == self.on_order else f"{formats.quantity(coming, locale)} "
        expected = "was expected" if day <= self.on else "expected"
        words = f"{on_hand}, {on_order}, {part}{expected} {formats.short_date(day, locale)}"
        return f"{words}: {self.short_in_words}" if self.shortage else words

    @property
    def short_in_words(self) -> str:
        """What stands after the day of the delivery before which it may run short."""
        is_late = self.shortage.until <= self.on
        return "may run short until it comes" if is_late else "may run short until then"

    @property
    def service_level(self) -> Decimal:
        return self.item.service_level

    @property
    def window(self) -> int:
        return self.lead_time_days + self.review_period_days

    @property
    def stock(self) -> Decimal:
        return self.on_hand + self.on_order

    @property
    def quantity(self) -> Decimal:
        return self.packs * self.item.pack_size

    @property
    def pack_words(self) -> str:
        return formats.counted(self.packs, "pack")

    @property
    def chance_of_running_out(self) -> float:
        return self.demand.chance_above(self.stock)


def suggestion(
    item: Item,
    on: date,
    planner: Planner,
    on_hand: Decimal,
    deliveries: Sequence[ExpectedDelivery],
    profile: Profile,
) -> Suggestion:
    """Return what to order of one item on a day; `deliveries` are on order, soonest first."""
    lead, review = item.lead_time(profile.lead_time_days), profile.review_period_days
    level, window = float(item.service_level), lead + review
    now, packs, short = planner.demand(item.pk, window), 0, None
    stock = on_hand + sum((row.quantity for row in deliveries), ZERO)
    if stock < now.quantile(level):
        later = planner.demand(item.pk, window + review)
        packs = quantity_to_order(stock, now, later, level, item.pack_size)
        days = planner.first_short(item.pk, stock, level, window)
        short = on + timedelta(days=days) if days else None
    return Suggestion(
        item=item,
        on=on,
        on_hand=on_hand,
        deliveries=tuple(deliveries),
        lead_time_days=lead,
        review_period_days=review,
        demand=now,
        order_point=now.quantile(level),
        packs=packs,
        first_short_on=short,
        shortage=_shortage(item, on, planner, on_hand, deliveries, window + review),
    )


def _shortage(
    item: Item,
    on: date,
    planner: Planner,
    on_hand: Decimal,
    deliveries: Sequence[ExpectedDelivery],
    window: int,
) -> Shortage | None:
    # A delivery that is late may come tomorrow.
    arrivals = [(max((row.day - on).days, 1), row.quantity) for row in deliveries]
    short = planner.short_before(item.pk, on_hand, arrivals, float(item.service_level), window)
    if short is None:
        return None
    first, day = short
    until = next(row.day for row, (at, _) in zip(deliveries, arrivals, strict=True) if at == day)
    return Shortage(on + timedelta(days=first), until)


def suggestions(
    on: date,
    expected: Expected,
    on_hand: Mapping[int, Decimal],
    deliveries: Mapping[int, Sequence[ExpectedDelivery]],
    profile: Profile,
) -> list[Suggestion]:
    """Return what to order of every active item: those to order first, then in order of entry."""
    planner = Planner(expected)
    rows = [
        suggestion(item, on, planner, on_hand.get(item.pk, ZERO), deliveries.get(item.pk, ()), profile)
        for item in Item.objects.current().select_related("supplier").order_by("pk")
    ]
    return sorted(rows, key=lambda row: row.packs == 0)
