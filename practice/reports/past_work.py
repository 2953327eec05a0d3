"""What was done and taken lately, as far as planning looks back."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from practice.models import Horse, LifeEvent, MaterialReturn, MaterialUse, Visit, Work
from stock.models import Item, Movement, MovementKind

LAST_WORKS = 3
SHIFTS_SEEN = 100
WEEKS_SEEN = timedelta(weeks=52)
CycleWork = tuple[int, int, date]  # horse, visit, day


@dataclass(frozen=True)
class PastUse:
    """What one horse took at one visit, by item, in the item's unit; what came back is taken off."""

    visit: int
    on: date
    amounts: dict[int, Decimal]


@dataclass
class PastWork:
    """Cycle works up to a day, in order, and what horses took at visits.

    `works` are those of the last 52 weeks. Older ones are fetched where these do not say enough, so that it
    takes no longer in a book of many years.
    """

    on: date
    works: list[CycleWork] = field(default_factory=list)
    takes: dict[tuple[int, int], dict[int, Decimal]] = field(default_factory=dict)
    days: dict[int, date] = field(default_factory=dict)

    def __post_init__(self):
        self.begin = self.on - WEEKS_SEEN
        self.works = self._works(visit__date__gt=self.begin)

    def _works(self, **which) -> list[CycleWork]:
        done = Work.objects.filter(
            service__resets_cycle=True, visit__status=Visit.Status.DONE, visit__date__lte=self.on
        )
        in_order = done.filter(**which).order_by("visit__date", "visit", "pk")
        return list(dict.fromkeys(in_order.values_list("horse_id", "visit_id", "visit__date")))

    def last_works(self, horses: Iterable[int]) -> dict[int, list[tuple[int, date]]]:
        """Return the last cycle works of these horses as (visit, day), the latest first."""
        works: dict[int, list] = {horse: [] for horse in horses}
        self._take_last(works, self.works)
        lacking = [horse for horse, found in works.items() if len(found) < LAST_WORKS]
        self._take_last(works, self._works(horse__in=lacking, visit__date__lte=self.begin))
        return works

    @staticmethod
    def _take_last(works: dict[int, list[tuple[int, date]]], among: list[CycleWork]) -> None:
        for horse, visit, day in reversed(among):
            if horse in works and len(works[horse]) < LAST_WORKS:
                works[horse].append((visit, day))

    def look_up(self, visits: Iterable[int]) -> None:
        """Fetch what was taken in the last 52 weeks, and at these visits before."""
        self._add({"visit__date__gt": self.begin, "visit__date__lte": self.on})
        older = sorted(set(visits) - self.days.keys())
        for start in range(0, len(older), 500):
            self._add({"visit__in": older[start : start + 500]})

    def _add(self, which: dict) -> None:
        uses = MaterialUse.objects.filter(visit__status=Visit.Status.DONE, **which).order_by("pk")
        rows = list(uses.values_list("visit_id", "visit__date", "horse_id", "item_id", "quantity"))
        back = MaterialReturn.objects.filter(movement__reversal__isnull=True, **which)
        rows += [
            (visit, day, horse, item, -quantity)
            for visit, day, horse, item, quantity in back.values_list(
                "visit_id", "visit__date", "horse_id", "movement__item_id", "movement__quantity"
            )
        ]
        for visit, day, horse, item, quantity in rows:
            self.days[visit] = day
            amounts = self.takes.setdefault((visit, horse), {})
            amounts[item] = amounts.get(item, Decimal(0)) + quantity

    def events(self) -> dict[int, list[Decimal]]:
        """Return what each event of the last 52 weeks took, by item: no cycle work, or waste."""
        cycle_works = {(visit, horse) for horse, visit, _ in self.works}
        by_item = defaultdict(list)
        for at, amounts in self.takes.items():
            if at not in cycle_works and self.days[at[0]] > self.begin:
                for item, amount in amounts.items():
                    by_item[item].append(amount)
        # By item, as the ledger's index is: the facts of other years are not read.
        waste = Movement.objects.standing().filter(
            item__in=Item.objects.current(), kind=MovementKind.WASTE, date__gt=self.begin, date__lte=self.on
        )
        in_order = waste.order_by("item", "date", "rank", "cause_order", "pk")
        for item, quantity in in_order.values_list("item_id", "quantity"):
            by_item[item].append(quantity)
        return {item: [amount for amount in amounts if amount > 0] for item, amounts in by_item.items()}

    def shifts(self, cycles: dict[int, int]) -> list[int]:
        """Return days from due (by cycle alone) to done of the practice's last works, the latest first.

        A cycle may have begun with the work of someone else.
        """
        horses = Horse.objects.filter(pk__in={horse for horse, _, _ in self.works})
        before = horses.with_last_done(before=self.begin + timedelta(days=1))
        last = dict(before.filter(last_done__isnull=False).values_list("pk", "last_done"))
        shifts = self._shifts(self.works, last, cycles, since=self.begin)
        if len(shifts) < SHIFTS_SEEN:
            shifts = self._shifts(self._works(), {}, cycles, since=date.min)
        return shifts[: -SHIFTS_SEEN - 1 : -1]

    def _shifts(
        self, works: list[CycleWork], last: dict[int, date], cycles: dict[int, int], since: date
    ) -> list[int]:
        """Return the shifts of these works; `last` is what was last done to each horse by the day before."""
        others = LifeEvent.objects.filter(kind=LifeEvent.Kind.ELSEWHERE, date__gt=since, date__lte=self.on)
        begun = [(day, horse, False) for horse, day in others.values_list("horse_id", "date")]
        begun += [(day, horse, True) for horse, _, day in works]
        shifts = []
        for day, horse, is_own in sorted(begun, key=lambda row: row[0]):
            before = last.get(horse)
            if is_own and before is not None and before < day:
                shifts.append((day - before).days - cycles[horse])
            last[horse] = day
        return shifts
