"""What will be used of an item until the next delivery but one, as a whole distribution. Pure, plain values.

Demand is worked out exactly, by convolution, never by a normal approximation: those that come round
(each takes what it took one of the last times, equally likely), several of them together where they
share a day, and what nobody planned, as a compound Poisson. Days are whole numbers after the day
asked: the window is the days 1 to `window`. Chances are binary floats, quantities are Decimals.
"""

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from typing import TypeVar

from practice.lib.millionths import from_millionths, to_millionths
from stock.rules.distributions import (
    MOST_STEPS,
    Demand,
    compound_poisson,
    convolved,
    convolved_sparse,
    most_events,
    spread,
    trimmed,
)

ZERO = Decimal(0)
# Common practice, no source: ten works spread evenly from a week early to two weeks late.
PRIOR_WORKS = 10
PRIOR_SHIFTS = range(-7, 15)
TOGETHER_DAYS = 7
# Events foreseen before any were seen, and the weeks that they are spread over: common practice, no source.
PRIOR_EVENTS, PRIOR_WEEKS = Fraction(1, 2), 4
NEVER = 10**6  # a day that no window reaches

Shifts = Mapping[int, float]
Comes = TypeVar("Comes")  # anything with a `day`


@dataclass(frozen=True)
class RoundNeed:
    """One that comes round: its day (for a planned one the day it is planned for), then every so many days.

    `amounts` are what it took the last times, in the item's unit, each equally likely. It comes round
    `times` times; None: again and again.
    """

    day: int
    every: int
    amounts: tuple[Decimal, ...] = ()
    times: int | None = None

    def day_of(self, turn: int) -> int:
        """Return the day of a round before any shift, the first being 0; NEVER where it does not come."""
        return NEVER if self.times is not None and turn >= self.times else self.day + turn * self.every


@dataclass(frozen=True)
class NeedGroup:
    """Needs that share each draw of the shift from due to done; the first time of `planned` ones is certain.

    `first` is the day of the earliest, whether or not it needs the item.
    """

    first: int
    needs: tuple[RoundNeed, ...]
    planned: bool = False


@dataclass(frozen=True)
class Unplanned:
    """Events that nobody planned: how many a week, each taking one of `amounts`, equally likely."""

    per_week: float
    amounts: tuple[Decimal, ...] = ()


def shift_chances(shifts: Iterable[int]) -> dict[int, float]:
    """Return how many days after the due date work is done, as chances: the works seen and the prior."""
    weights: dict[int, float] = defaultdict(float)
    for shift in PRIOR_SHIFTS:
        weights[shift] += PRIOR_WORKS / len(PRIOR_SHIFTS)
    for shift in shifts:
        weights[shift] += 1.0
    total = math.fsum(weights.values())
    return {shift: weights[shift] / total for shift in sorted(weights)}


def unplanned_rate(seen: int, weeks: Fraction) -> float:
    """Return events a week: those seen in `weeks` of history, at most 52, with the prior."""
    return float((seen + PRIOR_EVENTS) / (min(Fraction(weeks), Fraction(52)) + PRIOR_WEEKS))


def lower_median(amounts: Iterable[Decimal]) -> Decimal:
    """Return the median, the lower of the two middle ones. Raises ValueError for nothing."""
    ordered = sorted(amounts)
    if not ordered:
        raise ValueError("nothing has no median")
    return ordered[(len(ordered) - 1) // 2]


def day_for(due: int, shifts: Shifts) -> int:
    """Return the day that counts as due: the first of the window where all of the histogram has passed."""
    return due if due + max(shifts) > 0 else 1


def in_groups(candidates: Iterable[Comes], days: int = TOGETHER_DAYS) -> list[tuple[Comes, ...]]:
    """Return those of one place in order of their day, each within some days of its group's first."""
    groups: list[list] = []
    for candidate in sorted(candidates, key=lambda candidate: candidate.day):
        if groups and candidate.day - groups[-1][0].day <= days:
            groups[-1].append(candidate)
        else:
            groups.append([candidate])
    return [tuple(candidates) for candidates in groups]


# How often each comes round


def rounds(group: NeedGroup, shifts: Shifts, window: int) -> dict[tuple[int, ...], float]:
    """Return how often each of `needs` is done in the window: chances by tuples of counts."""
    turns = _Turns(group.needs, shifts, window)
    if group.planned:
        return turns.after(0, 0)
    if group.first + min(shifts) > window and group.first > 0:
        return {turns.nothing: 1.0}
    # What has passed of the histogram is left out; the draw is the group's, so its first decides.
    left = {shift: chance for shift, chance in shifts.items() if group.first + shift > 0}
    total = math.fsum(left.values())
    chances: dict[tuple[int, ...], float] = defaultdict(float)
    for shift, chance in left.items():
        for counts, part in turns.after(0, shift).items():
            chances[counts] += chance / total * part
    return dict(chances)


class _Turns:
    """The rounds that follow one another, each a cycle after the one before was done, plus a new draw."""

    def __init__(self, needs: tuple[RoundNeed, ...], shifts: Shifts, window: int):
        self.shifts, self.window = sorted(shifts.items()), window
        self.days = [shift for shift, _ in self.shifts]
        self.nothing = (0,) * len(needs)
        self.known: dict[tuple[int, int], dict[tuple[int, ...], float]] = {}
        # The days of each round before any shift, as often as one can come round in the window at all.
        most = 1 + max((window // max(need.every, 1) for need in needs), default=0)
        self.turns = [[need.day_of(turn) for need in needs] for turn in range(most + 1)]
        self.ends = [(min(days, default=0), max(days, default=0)) for days in self.turns]

    def after(self, turn: int, shifted: int) -> dict[tuple[int, ...], float]:
        """Return the counts of this round and those after it, its shifts added up to `shifted` days."""
        key = turn, shifted
        if key not in self.known:
            first, last = -shifted, self.window - shifted
            done = tuple([1 if first < day <= last else 0 for day in self.turns[turn]])
            later = self._later(turn + 1, shifted)
            if len(later) == 1 and self.nothing in later:
                self.known[key] = {done: 1.0}
            else:
                self.known[key] = {
                    tuple([a + b for a, b in zip(done, more, strict=True)]): chance
                    for more, chance in later.items()
                }
        return self.known[key]

    def _later(self, turn: int, shifted: int) -> dict[tuple[int, ...], float]:
        if turn >= len(self.turns):
            return {self.nothing: 1.0}
        earliest, latest = self.ends[turn]
        # Only these draws bring any of them into the window.
        begin = bisect_right(self.days, -latest - shifted)
        end = bisect_right(self.days, self.window - earliest - shifted)
        if begin >= end:
            return {self.nothing: 1.0}
        chances: dict[tuple[int, ...], float] = defaultdict(float)
        for shift, chance in self.shifts[begin:end]:
            for counts, part in self.after(turn, shifted + shift).items():
                chances[counts] += chance * part
        away = 1.0 - math.fsum(chance for _, chance in self.shifts[begin:end])
        if away > 0:
            chances[self.nothing] += away
        return dict(chances)


# Distributions


def demand(
    groups: Iterable[tuple[NeedGroup, Mapping[tuple[int, ...], float]]],
    unplanned: Unplanned,
    window: int,
) -> Demand:
    """Return what will be used of one item in the window.

    `groups` are those that need it, each with its `rounds`. Events that nobody planned come on top.
    """
    groups = [(group, counts) for group, counts in groups if _takes_something(group, counts)]
    events = unplanned.per_week * window / 7 if unplanned.amounts else 0.0
    step, most = _grid(groups, unplanned.amounts if events else (), events)
    total = compound_poisson(events, spread(unplanned.amounts, step), most) if events else [1.0]
    parts = [_of_group(group, counts, step) for group, counts in groups]
    return Demand(step, trimmed(convolved([total, *parts])))


def _takes_something(group: NeedGroup, counts: Mapping[tuple[int, ...], float]) -> bool:
    """Whether any that needs the item may be done in the window."""
    if len(counts) == 1 and not any(next(iter(counts))):
        return False
    return any(need.amounts and any(c[i] for c in counts) for i, need in enumerate(group.needs))


def _grid(groups, amounts: Sequence[Decimal], events: float) -> tuple[Decimal, Decimal]:
    """Return the step, and the largest unplanned demand that is worth looking at."""
    sizes = {amount for group, _ in groups for need in group.needs for amount in need.amounts}
    sizes |= set(amounts)
    largest = sum(
        (
            max(count[i] for count in counts) * max(need.amounts)
            for group, counts in groups
            for i, need in enumerate(group.needs)
            if need.amounts
        ),
        ZERO,
    )
    most = most_events(events) * max(amounts, default=ZERO)
    millionths = [to_millionths(size) for size in sizes if size]
    step = from_millionths(math.gcd(*millionths)) if millionths else Decimal(1)
    if (largest + most) / step > MOST_STEPS:
        step = ((largest + most) / MOST_STEPS).quantize(Decimal("0.000001"), ROUND_CEILING)
    return step, most


def _of_group(group: NeedGroup, counts: Mapping[tuple[int, ...], float], step: Decimal) -> list[float]:
    """Return what a group needs: the mixture, over how often each is done, of their needs added up."""
    taking = [i for i, need in enumerate(group.needs) if need.amounts]
    by_taking: dict[tuple[int, ...], float] = defaultdict(float)
    for count, chance in counts.items():
        by_taking[tuple([count[i] for i in taking])] += chance
    needs = [spread(group.needs[i].amounts, step) for i in taking]
    # Built up need by need, so that what several counts begin with is added up once.
    beginnings: dict[tuple[int, ...], dict[int, float]] = {(): {0: 1.0}}
    total: dict[int, float] = defaultdict(float)
    for count, chance in by_taking.items():
        for k, chance_of_k in _added(count, needs, beginnings).items():
            total[k] += chance * chance_of_k
    dense = [0.0] * (max(total) + 1)
    for k, chance in total.items():
        dense[k] = chance
    return dense


def _added(count: tuple[int, ...], needs: list[dict[int, float]], beginnings: dict) -> dict[int, float]:
    if count not in beginnings:
        sums = _added(count[:-1], needs, beginnings)
        for _ in range(count[-1]):
            sums = convolved_sparse(sums, needs[len(count) - 1])
        beginnings[count] = sums
    return beginnings[count]


# What to order


def quantity_to_order(stock: Decimal, now: Demand, later: Demand, level: float, pack: Decimal) -> int:
    """Return how many packs to order: 0 while `stock` (on hand and on order) covers the demand `now`.

    Else what brings it up to the order point of `later`, the window one review period longer.
    """
    if stock >= now.quantile(level):
        return 0
    wanted = max(later.quantile(level) - stock, ZERO)
    return int((wanted / pack).to_integral_value(ROUND_CEILING))
