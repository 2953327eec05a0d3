"""Why something is suggested: the horses, dates, chances and quantities behind an order point."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from practice.lib import formats
from practice.lib.charts import ABOVE, FOOT, LEFT, RIGHT, WIDTH, Chart, ChartMark, ChartWord, course
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.formats import counted, quantity, quantity_of
from practice.lib.profile import Profile
from practice.models import Horse, Place, Visit
from practice.reports.expected_use import Expectation
from practice.reports.planner import on_hand_at, plan_on
from stock.models import Item
from stock.reports.demand import NOTHING, DemandInputs, Planner
from stock.reports.orders import deliveries
from stock.reports.reorder import Suggestion, suggestion
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
    """What is expected to be left at the end of a day with nothing more ordered: mean and 90 % band.

    What is on order has come by the day on which it is expected.
    """

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
    chart: Chart

    @property
    def answer(self) -> str:
        row = self.suggestion
        if not row.packs and row.shortage:
            return "Nothing more to order, but you may run short until the delivery."
        if not row.packs:
            return "You have enough. Nothing to order."
        return f"Order {counted(row.packs, 'pack')}: {quantity_of(row.quantity, row.item.unit)}."

    @property
    def until(self) -> date:
        return self.on + timedelta(days=self.suggestion.window)

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


def reason_for(item: Item, on: date) -> Reason:
    """Return why an item is to be ordered, or not, with the shelf as it was at the end of a day."""
    expectation, profile = plan_on(on).expectation, Profile.current()
    planner = Planner(expectation.expected)
    suggested = suggestion(
        item,
        on,
        planner,
        on_hand_at(on).get(item.pk, Decimal(0)),
        deliveries(on, profile).get(item.pk, ()),
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
    unplanned = expectation.expected.unplanned.get(item.pk, NOTHING)
    return Reason(on, suggested, groups, unplanned, shelf, shelf_chart(suggested, shelf, on, profile))


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
    """Return the shelf from today on: what is on hand and has come by then less what is used day by day."""
    stock = float(row.on_hand)
    days = [ShelfDay(on, stock, stock, stock)]
    for day in range(1, row.window + row.review_period_days + 1):
        use: Demand = planner.demand(row.item.pk, day)
        stock += float(sum(d.quantity for d in row.deliveries if (row.arrival(d) - on).days == day))
        days.append(
            ShelfDay(
                on + timedelta(days=day),
                stock - use.mean,
                stock - float(use.quantile(HIGH)),
                stock - float(use.quantile(LOW)),
            )
        )
    return days


def arrival(row: Suggestion, on: date) -> date:
    """Return the earliest day on which what is ordered now comes."""
    return on + timedelta(days=row.lead_time_days)


def shelf_chart(row: Suggestion, shelf: list[ShelfDay], on: date, profile: Profile) -> Chart:
    """Return the chart of the stock day by day, with the earliest delivery and the day it may run short."""
    locale = profile.locale
    drawing = course([day.expected for day in shelf], [day.low for day in shelf], [day.high for day in shelf])
    last, arrives = shelf[-1], formats.day_and_month(arrival(row, on), locale)
    expected, low, high = (formats.about(value, locale) for value in (last.expected, last.low, last.high))
    arrives_x = drawing.x[row.lead_time_days]
    words = [ChartWord("today", LEFT, FOOT, "start")]
    # Only where it does not run into the first and the last day.
    if 100 < arrives_x < 270:
        words.append(ChartWord(arrives, arrives_x, FOOT))
    last_day = formats.day_and_month(last.day, locale)
    words.append(ChartWord(last_day, RIGHT, FOOT, "end"))
    marks = [ChartMark(arrives_x, "arrive")]
    if row.short_from:
        short_x = drawing.x[(row.short_from - on).days]
        marks.append(ChartMark(short_x, "short"))
        text = f"may run short {formats.short_date(row.short_from, locale)}"
        side = (short_x + 6, ABOVE, "start") if short_x < WIDTH / 2 else (short_x - 6, ABOVE, "end")
        words.append(ChartWord(text, *side, "say-late"))
    return Chart(
        drawing=drawing,
        title=f"Stock of {row.item} if you order nothing more",
        description=f"{formats.about(shelf[0].expected, locale)} today. On {last_day}, {expected} expected,"
        f" and between {low} and {high} in 90 of 100 cases.",
        table=FigureTable(
            ("End of", "Expected", "In 90 of 100 cases"),
            tuple(_shelf_row(day, locale) for day in shelf),
        ),
        note=_chart_note(row, arrives, locale),
        words=tuple(words),
        marks=tuple(marks),
    )


def _chart_note(row: Suggestion, arrives: str, locale: str) -> str:
    """Say what the lines of the chart are; `arrives` is the day of what is ordered now."""
    note = "Line: expected stock. Band: 90 of 100 cases."
    if row.deliveries:
        note += " It rises when what is on order is expected."
    note += f" Dotted: the earliest delivery of a new order, {arrives}."
    if row.short_from:
        sure = formats.chance(float(row.service_level), locale)
        from_then = "until the delivery" if row.shortage else "from here on"
        note += f" Dashed: {from_then} you are less than {sure} sure of having enough."
    return note


def _shelf_row(day: ShelfDay, locale: str) -> FigureRow:
    expected, low, high = (formats.about(value, locale) for value in (day.expected, day.low, day.high))
    return FigureRow(formats.short_date(day.day, locale), (expected, f"{low} to {high}"))
