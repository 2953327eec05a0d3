"""Why something is suggested: the horses, dates, chances and quantities behind an order point."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from practice.lib.charts import WIDTH, SteppedLine, course
from practice.lib.formats import counted, quantity, quantity_of
from practice.lib.profile import Profile
from practice.models import Horse, Place, Visit
from practice.reports.expected_use import Expectation, expected_use
from practice.reports.planner import on_hand_at
from stock.models import Item
from stock.reports.orders import on_order
from stock.reports.reorder import NOTHING, DemandInputs, Planner, Suggestion, suggestion
from stock.rules.planning import Demand, Unplanned

LOW, HIGH = 0.05, 0.95


@dataclass(frozen=True)
class DemandReasoning:
    """A horse as the order point sees it: how likely it is done in the window, and what it then takes.

    `amounts` are what its last cycle works took, the latest first; `expected` is the mean of both.
    """

    horse: Horse
    due: date | None
    amounts: tuple[Decimal, ...]
    chance: float
    expected: float


@dataclass(frozen=True)
class PastUseCase:
    """How often each of a group's horses is done in the window, and the chance of that."""

    times: tuple[int, ...]
    chance: float

    def in_words(self, horses: list[DemandReasoning]) -> str:
        """Say who is done: `Bramble, Clover twice`; nobody: `Nobody`."""
        named = [
            f"{row.horse}{'' if times == 1 else ' twice' if times == 2 else f' {times} times'}"
            for row, times in zip(horses, self.times, strict=True)
            if times
        ]
        return ", ".join(named) or "Nobody"


@dataclass(frozen=True)
class ReasonGroup:
    """Horses done together: those that may take the item in the window, and every case with its chance."""

    place: Place | None
    planned: Visit | None
    horses: list[DemandReasoning]
    cases: list[PastUseCase]

    @property
    def cases_in_words(self) -> list[tuple[str, PastUseCase]]:
        return [(case.in_words(self.horses), case) for case in self.cases]

    @property
    def horses_in_words(self) -> list[tuple[DemandReasoning, str]]:
        """Each horse with what it took, the latest first: `4, 0, 4`."""
        return [(row, ", ".join(map(quantity, row.amounts))) for row in self.horses]


@dataclass(frozen=True)
class ShelfDay:
    """What is expected to be left at the end of a day with nothing more ordered: mean and 90 % band."""

    day: date
    expected: float
    low: float
    high: float


@dataclass(frozen=True)
class Reason:
    """Everything that one suggestion is based on."""

    on: date
    suggestion: Suggestion
    groups: list[ReasonGroup]
    unplanned: Unplanned
    shelf: list[ShelfDay]
    chart: SteppedLine

    @property
    def answer(self) -> str:
        row = self.suggestion
        if not row.packs:
            return "You have enough. Nothing to order."
        return f"Order {counted(row.packs, 'pack')}: {quantity_of(row.quantity, row.item.unit)}."

    @property
    def last(self) -> ShelfDay:
        """The last day that is looked at."""
        return self.shelf[-1]

    @property
    def until(self) -> date:
        return self.on + timedelta(days=self.suggestion.window)

    @property
    def arrives(self) -> date:
        """The earliest day on which what is ordered now comes."""
        return self.on + timedelta(days=self.suggestion.lead_time_days)

    @property
    def events(self) -> list[tuple[Decimal, int]]:
        """What events took, each amount with how often it was seen."""
        return sorted(Counter(self.unplanned.amounts).items())

    @property
    def unplanned_use(self) -> float:
        """The mean of what nobody planned, in the window."""
        amounts = self.unplanned.amounts
        if not amounts:
            return 0.0
        return self.unplanned.per_week * self.suggestion.window / 7 * float(sum(amounts)) / len(amounts)

    @property
    def short_x(self) -> float | None:
        """Where in the chart it may run short."""
        first = self.suggestion.first_short_on
        return None if first is None else self.chart.x[(first - self.on).days]

    @property
    def short_label(self) -> tuple[float, str]:
        """Where the words for that are, and which end of them: inside the chart on either side."""
        x = self.short_x or 0
        return (x + 6, "start") if x < WIDTH / 2 else (x - 6, "end")

    @property
    def arrives_x(self) -> float:
        return self.chart.x[self.suggestion.lead_time_days]

    @property
    def has_room_for_arrival(self) -> bool:
        """Whether the day of arrival can be written under the chart, between its first and last day."""
        return 100 < self.arrives_x < 270


def reason_for(item: Item, on: date) -> Reason:
    """Return why an item is to be ordered, or not, with the shelf as it was at the end of a day."""
    expectation, profile = expected_use(on), Profile.current()
    planner = Planner(expectation.expected)
    suggested = suggestion(
        item,
        on,
        planner,
        on_hand_at(on).get(item.pk, Decimal(0)),
        on_order(on).get(item.pk, Decimal(0)),
        profile,
    )
    inputs = [expectation.expected.inputs[i] for i in planner.inputs(item.pk)]
    visits = Visit.objects.select_related("place").in_bulk([row.key for row in inputs if row.planned])
    groups = [
        _group(expectation, group, planner.rounds(i, suggested.window), item.pk, visits)
        for i, group in zip(planner.inputs(item.pk), inputs, strict=True)
    ]
    groups = [group for group in groups if group.horses]
    shelf = _shelf(planner, suggested, on)
    drawing = course([row.expected for row in shelf], [r.low for r in shelf], [r.high for r in shelf])
    unplanned = expectation.expected.unplanned.get(item.pk, NOTHING)
    return Reason(on, suggested, groups, unplanned, shelf, drawing)


def _group(
    expectation: Expectation, group: DemandInputs, counts: dict, item: int, visits: dict[int, Visit]
) -> ReasonGroup:
    taking = [
        i
        for i, candidate in enumerate(group.candidates)
        if item in candidate.amounts and any(times[i] for times in counts)
    ]
    cases: dict[tuple[int, ...], float] = defaultdict(float)
    for times, chance in counts.items():
        cases[tuple(times[i] for i in taking)] += chance
    horses = []
    for n, i in enumerate(taking):
        candidate = group.candidates[i]
        amounts = candidate.amounts[item]
        chance = sum(chance for times, chance in cases.items() if times[n])
        mean = sum(times[n] * chance for times, chance in cases.items())
        due = expectation.due[candidate.key]
        expected = mean * float(sum(amounts)) / len(amounts)
        horses.append(DemandReasoning(due.horse, due.due, amounts, chance, expected))
    planned = visits.get(group.key) if group.planned else None
    return ReasonGroup(
        planned.place if planned else horses[0].horse.place if horses else None,
        planned,
        horses,
        [PastUseCase(times, chance) for times, chance in sorted(cases.items(), reverse=True)],
    )


def _shelf(planner: Planner, row: Suggestion, on: date) -> list[ShelfDay]:
    """Return the shelf from today on: what is on hand and on order less what is used day by day."""
    stock = float(row.stock)
    days = [ShelfDay(on, stock, stock, stock)]
    for day in range(1, row.window + row.review_period_days + 1):
        use: Demand = planner.demand(row.item.pk, day)
        days.append(
            ShelfDay(
                on + timedelta(days=day),
                stock - use.mean,
                stock - float(use.quantile(HIGH)),
                stock - float(use.quantile(LOW)),
            )
        )
    return days
