"""Who comes round and takes what, and what is used of an item in a window: worked out once for all items.

Who comes round is the caller's: the shelf knows no horses.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from stock.rules.planning import Demand, NeedGroup, RoundNeed, Shifts, Unplanned, demand, rounds

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
        if window < 1 or self.demand(item, window).quantile(level) <= stock:
            return None
        low, high = 1, window
        while low < high:
            middle = (low + high) // 2
            if self.demand(item, middle).quantile(level) > stock:
                high = middle
            else:
                low = middle + 1
        return high

    def short_before(
        self, item: int, stock: Decimal, arrivals: Sequence[tuple[int, Decimal]], level: float, window: int
    ) -> tuple[int, int] | None:
        """Return the first day by which `stock`, with what has come, covers the demand with less than
        `level`, and the day whose delivery makes up for it (else that of the last); None: it does until all
        has come.

        `arrivals` are (day, quantity), soonest first; day 0 is the day asked, and the window is looked at.
        """
        first = None
        for day, quantity in arrivals:
            if first is None:
                first = 0 if stock < 0 else self.first_short(item, stock, level, min(day - 1, window))
            stock += quantity
            if first is not None and self.demand(item, min(day, window)).quantile(level) <= stock:
                return first, day
        return None if first is None else (first, day)
