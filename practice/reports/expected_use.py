"""What the horses that come round, and what nobody planned, are expected to take from the shelf.

Worked out here for `stock.reports.reorder`, which knows no horses.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Min

from practice.models import Horse, MaterialReturn, MaterialUse, Visit, Work
from practice.reports.due import DueHorse, due_horses
from practice.reports.past_work import PastUse, PastWork
from practice.rules.bookings import is_another_call, is_next_call, rounds_before
from stock.models import Item
from stock.reports.demand import Candidate, DemandInputs, Expected
from stock.rules.planning import (
    Shifts,
    Unplanned,
    day_for,
    in_groups,
    lower_median,
    shift_chances,
    unplanned_rate,
)

# A visit without work stands for the horses due until this long after it.
SOON_AFTER = timedelta(days=7)


@dataclass(frozen=True)
class Expectation:
    """What is expected after a day, and what it rests on.

    `due` by horse; `taken` holds the last cycle works of each horse, the latest first; `forgotten` are
    over by more than their whole cycle: to be asked about, and expected only where a visit names them.
    """

    on: date
    due: dict[int, DueHorse]
    taken: dict[int, list[PastUse]]
    expected: Expected
    forgotten: list[DueHorse]


def expected_use(on: date, visits: Iterable[Visit] | None = None) -> Expectation:
    """Return what is expected to be taken after a day, in the days that planning asks for.

    `visits`: the planned visits to reckon with; None: all after the day.
    """
    history = PastWork(on)
    due = {row.horse.pk: row for row in due_horses(before=on + timedelta(days=1))}
    cycles = {pk: weeks * 7 for pk, weeks in Horse.objects.values_list("pk", "cycle_weeks")}
    last = history.last_works(due)
    history.look_up(visit for works in last.values() for visit, _ in works)
    taken = {
        horse: [
            PastUse(visit, day, {i: q for i, q in history.takes.get((visit, horse), {}).items() if q > 0})
            for visit, day in works
        ]
        for horse, works in last.items()
    }
    shifts = shift_chances(history.shifts(cycles))
    forgotten = [row for row in due.values() if row.is_forgotten(on)]
    if visits is None:
        visits = Visit.objects.planned().filter(date__gt=on).order_by("date", "pk")
    inputs = _demand_inputs(on, due, taken, shifts, visits, {row.horse.pk for row in forgotten})
    expected = Expected(tuple(inputs), shifts, _unplanned(history))
    return Expectation(on, due, taken, expected, forgotten)


def _demand_inputs(
    on: date,
    due: dict[int, DueHorse],
    taken: dict[int, list[PastUse]],
    shifts: Shifts,
    visits: Iterable[Visit],
    forgotten: set[int],
) -> list[DemandInputs]:
    by_visit = horses_of(on, visits, due, forgotten)
    booked: dict[int, list[date]] = defaultdict(list)
    for visit, horses in by_visit:
        for horse in horses:
            booked[horse].append(visit.date)

    def times(row: DueHorse, first: date) -> int | None:
        """How often the horse comes round from `first` on before its next booking; None: it has none."""
        later = booked[row.horse.pk]
        return rounds_before(later[0], first, _cycle(row)) if later else None

    def candidate(row: DueHorse, day: int, times: int | None) -> Candidate:
        works = taken[row.horse.pk]
        items = {item for work in works for item in work.amounts}
        amounts = {item: tuple(work.amounts.get(item, Decimal(0)) for work in works) for item in items}
        return Candidate(row.horse.pk, day, _cycle(row), amounts, times)

    by_place = defaultdict(list)
    for row in due.values():
        if not row.due or row.horse.pk in forgotten:
            continue
        before = times(row, max(row.due, on))
        if before != 0:
            # A horse that stands nowhere shares its day with nobody.
            where = ("place", row.horse.place_id) if row.horse.place_id else ("horse", row.horse.pk)
            by_place[where].append(candidate(row, day_for((row.due - on).days, shifts), before))
    inputs = []
    for visit, horses in by_visit:
        candidates = []
        for horse in horses:
            booked[horse].pop(0)
            again = times(due[horse], visit.date)
            once = again if again is None else max(again, 1)
            candidates.append(candidate(due[horse], (visit.date - on).days, once))
        if candidates:
            inputs.append(DemandInputs(visit.pk, tuple(candidates), planned=True))
    for (kind, pk), candidates in by_place.items():
        inputs += [DemandInputs(pk if kind == "place" else None, group) for group in in_groups(candidates)]
    return inputs


def _cycle(row: DueHorse) -> int:
    """Return the horse's cycle in days."""
    return row.horse.cycle_weeks * 7


def horses_of(
    on: date, visits: Iterable[Visit], due: dict[int, DueHorse], forgotten: set[int]
) -> list[tuple[Visit, list[int]]]:
    """Return the horses that each planned visit is certain for; `visits` in order of date.

    A visit with work is for the active horses that it names with work that resets the cycle. One without
    stands for the active horses of its place that are due by then or soon after, where it is their next
    call: no visit before stands for them, and none that names them is less than half a cycle from it.
    It stands for none that is `forgotten`.
    """
    visits = list(visits)
    named: dict[int, list[int]] = defaultdict(list)
    with_work = set()
    work = Work.objects.filter(visit__in=[visit.pk for visit in visits]).order_by("pk")
    for visit, horse, resets in work.values_list("visit_id", "horse_id", "service__resets_cycle"):
        with_work.add(visit)
        if resets and horse in due and horse not in named[visit]:
            named[visit].append(horse)
    named_on: dict[int, list[date]] = defaultdict(list)
    for visit in visits:
        for horse in named[visit.pk]:
            named_on[horse].append(visit.date)
    stood_for = set(forgotten)
    by_visit = []
    for visit in visits:
        horses = named[visit.pk]
        if visit.pk not in with_work:
            horses = [
                horse
                for horse, row in due.items()
                if row.horse.place_id == visit.place_id
                and horse not in stood_for
                and _can_stand_for(visit.date, row, on, named_on[horse])
            ]
            stood_for |= set(horses)
        by_visit.append((visit, horses))
    return by_visit


def _can_stand_for(day: date, row: DueHorse, on: date, named_on: list[date]) -> bool:
    """Whether a visit without work on a day can be the next call of a horse of its place."""
    return (
        row.due is not None
        and row.due <= day + SOON_AFTER
        and is_next_call(day, row.due, on, _cycle(row))
        and all(is_another_call(day, named, _cycle(row)) for named in named_on)
    )


def _unplanned(history: PastWork) -> dict[int, Unplanned]:
    """Return what nobody plans, by item: its events, or one like a usual use where it had none."""
    first = Visit.objects.done().filter(date__lte=history.on).aggregate(first=Min("date"))["first"]
    weeks = Fraction((history.on - first).days, 7) if first else Fraction(0)
    events = {item: amounts for item, amounts in history.events().items() if amounts}
    quiet = set(Item.objects.current().values_list("pk", flat=True)) - events.keys()
    unplanned = {item: Unplanned(unplanned_rate(len(a), weeks), tuple(a)) for item, a in events.items()}
    for item, amounts in _usual(quiet, history.on).items():
        unplanned[item] = Unplanned(unplanned_rate(0, weeks), (lower_median(amounts),))
    return unplanned


def _usual(items: set[int], on: date) -> dict[int, list[Decimal]]:
    """Return what one horse took on one visit, of items without an event, over the whole book."""
    which = {"visit__date__lte": on}
    uses = MaterialUse.objects.filter(visit__status=Visit.Status.DONE, item__in=items, **which)
    back = MaterialReturn.objects.filter(movement__reversal__isnull=True, movement__item__in=items, **which)
    sums: dict[tuple, Decimal] = defaultdict(Decimal)
    for *at, quantity in uses.values_list("item_id", "visit_id", "horse_id", "quantity"):
        sums[tuple(at)] += quantity
    for *at, quantity in back.values_list("movement__item_id", "visit_id", "horse_id", "movement__quantity"):
        sums[tuple(at)] -= quantity
    usual = defaultdict(list)
    for (item, _, _), quantity in sums.items():
        if quantity > 0:
            usual[item].append(quantity)
    return usual
