"""What to order now, by item and size.

What is expected to be used comes as an argument: the shelf knows no horses.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property

from practice.lib import formats
from practice.lib.profile import Profile
from stock.models import Item
from stock.rules.planning import (
    Demand,
    NeedGroup,
    RoundNeed,
    Shifts,
    Unplanned,
    demand,
    quantity_to_order,
    rounds,
)

ZERO = Decimal(0)
NOTHING = Unplanned(0.0)


@dataclass(frozen=True)
class Candidate:
    """One that comes round: its day after the day asked, every so many days after that.

    `amounts` by the item's key are what it took the last times. `key` is the caller's own. It comes round
    `times` times; None: again and again.
    """

    key: Hashable
    day: int
    every: int
    amounts: Mapping[int, tuple[Decimal, ...]]
    times: int | None = None

    def need(self, item: int | None = None) -> RoundNeed:
        """Return when it comes round, with what it takes of an item."""
        return RoundNeed(self.day, self.every, self.amounts.get(item, ()), self.times)


@dataclass(frozen=True)
class DemandInputs:
    """Candidates done together: one draw of the shift for all, or one planned day. `key` is the caller's."""

    key: Hashable
    candidates: tuple[Candidate, ...]
    planned: bool = False

    @cached_property
    def group(self) -> NeedGroup:
        needs = tuple([candidate.need() for candidate in self.candidates])
        return NeedGroup(min(need.day for need in needs), needs, self.planned)

    def of_item(self, item: int) -> NeedGroup:
        """Return the group with what each takes of one item, by its key."""
        bare = self.group
        needs = [
            candidate.need(item) if item in candidate.amounts else need
            for candidate, need in zip(self.candidates, bare.needs, strict=True)
        ]
        return NeedGroup(bare.first, tuple(needs), self.planned)


@dataclass(frozen=True)
class Expected:
    """All that is expected: who comes round, how punctual work is, and what nobody planned, by item."""

    inputs: tuple[DemandInputs, ...]
    shifts: Shifts
    unplanned: Mapping[int, Unplanned]


@dataclass(frozen=True)
class Suggestion:
    """What to order of one item, and why. Quantities in its unit.

    `demand` and `order_point` are over lead time plus review period; `chance_of_running_out` is the chance
    that it takes more than is on hand and on order; `first_short_on` the first day by which that chance is
    above what the service level allows, if any.
    """

    item: Item
    on_hand: Decimal
    on_order: Decimal
    lead_time_days: int
    review_period_days: int
    demand: Demand
    order_point: Decimal
    packs: int
    first_short_on: date | None

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


@dataclass
class Planner:
    """Works out demands of items over windows; how often each comes round is worked out once a window."""

    expected: Expected
    _rounds: dict[tuple[int, int], dict] = field(default_factory=dict)
    _by_item: dict[int, dict[int, NeedGroup]] = field(default_factory=dict)

    def __post_init__(self):
        for i, group in enumerate(self.expected.inputs):
            for item in {item for candidate in group.candidates for item in candidate.amounts}:
                self._by_item.setdefault(item, {})[i] = group.of_item(item)

    def inputs(self, item: int) -> Mapping[int, NeedGroup]:
        """Return those that take the item, by their position in `expected.inputs`."""
        return self._by_item.get(item, {})

    def rounds(self, i: int, window: int) -> dict[tuple[int, ...], float]:
        """Return how often each candidate of a group is done in the window."""
        if (i, window) not in self._rounds:
            group = self.expected.inputs[i].group
            self._rounds[i, window] = rounds(group, self.expected.shifts, window)
        return self._rounds[i, window]

    def demand(self, item: int, window: int) -> Demand:
        """Return what will be used of an item in the window."""
        groups = [(self.expected.inputs[i].of_item(item), self.rounds(i, window)) for i in self.inputs(item)]
        return demand(groups, self.expected.unplanned.get(item, NOTHING), window)

    def first_short(self, item: int, stock: Decimal, level: float, window: int) -> int | None:
        """Return the first day by which `stock` covers the demand with less than `level`; None: it does.

        Demand up to a day only grows with the days, so the day is found by halving.
        """
        if self.demand(item, window).quantile(level) <= stock:
            return None
        low, high = 1, window
        while low < high:
            middle = (low + high) // 2
            if self.demand(item, middle).quantile(level) > stock:
                high = middle
            else:
                low = middle + 1
        return high


def lead_time(item: Item, profile: Profile) -> int:
    """Return the days until a delivery comes: the item's, else its supplier's, else the practice's."""
    if item.lead_time_days is not None:
        return item.lead_time_days
    if item.supplier and item.supplier.lead_time_days is not None:
        return item.supplier.lead_time_days
    return profile.lead_time_days


def suggestion(
    item: Item, on: date, planner: Planner, on_hand: Decimal, on_order: Decimal, profile: Profile
) -> Suggestion:
    """Return what to order of one item on a day."""
    lead, review, level = lead_time(item, profile), profile.review_period_days, float(item.service_level)
    now, stock, packs, short = planner.demand(item.pk, lead + review), on_hand + on_order, 0, None
    if stock < now.quantile(level):
        later = planner.demand(item.pk, lead + 2 * review)
        packs = quantity_to_order(stock, now, later, level, item.pack_size)
        days = planner.first_short(item.pk, stock, level, lead + review)
        short = on + timedelta(days=days) if days else None
    return Suggestion(item, on_hand, on_order, lead, review, now, now.quantile(level), packs, short)


def suggestions(
    on: date,
    expected: Expected,
    on_hand: Mapping[int, Decimal],
    on_order: Mapping[int, Decimal],
    profile: Profile,
) -> list[Suggestion]:
    """Return what to order of every active item: those to order first, then in order of entry."""
    planner = Planner(expected)
    rows = [
        suggestion(item, on, planner, on_hand.get(item.pk, ZERO), on_order.get(item.pk, ZERO), profile)
        for item in Item.objects.current().select_related("supplier").order_by("pk")
    ]
    return sorted(rows, key=lambda row: row.packs == 0)
