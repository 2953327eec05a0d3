"""A stop of the round: the horses there, those due first, what was done, and the drive that reached it."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from practice.lib import formats
from practice.lib.formats import counted
from practice.lib.list_rows import ListRow
from practice.models import Horse, Leg, Visit
from practice.reports.due import due_horses
from practice.reports.material_costs import cost_of_visit
from practice.reports.miles import miles_of

# A horse due this many days after the visit is offered as the next one all the same.
NEARLY_DUE_DAYS = 10


@dataclass(frozen=True)
class HorseAtStop:
    """A horse at a stop: the days past its due date when the visit begins (None: new), what was done."""

    visit: Visit
    horse: Horse
    days: int | None
    done: list[str]
    is_open: bool = False

    @property
    def is_due(self) -> bool:
        return self.days is not None and self.days >= 0

    @property
    def is_waiting(self) -> bool:
        """Whether nothing is saved of it yet, and it is new, due, or nearly due."""
        return not self.done and (self.days is None or self.days >= -NEARLY_DUE_DAYS)

    @property
    def is_late(self) -> bool:
        return not self.done and (self.days or 0) > 0

    @property
    def state(self) -> str:
        """`saved`, or when it is due: `7 days overdue`, `new`."""
        if self.done:
            return "saved"
        return "new" if self.days is None else formats.days_over(self.days)

    @property
    def detail(self) -> str:
        """What was done to it, else its cycle."""
        return ", ".join(self.done) or f"every {counted(self.horse.cycle_weeks, 'week')}"

    @property
    def row(self) -> ListRow:
        return ListRow(self.url, self.horse.name, self.detail, self.state, self.is_late)

    @property
    def danger(self) -> str:
        """Its name, as it stands before its cautions."""
        return f"{self.horse}."

    @property
    def url(self) -> str:
        """The address of its form at the visit."""
        return self.visit.horse_url(self.horse)


def horses_at(visit: Visit, horse: Horse | None = None) -> list[HorseAtStop]:
    """Return the horses at the visit's place, those due first, and any other that was worked on there.

    `horse` is the one that is open; it is among them wherever it is kept.
    """
    work = list(visit.work.select_related("horse", "service").order_by("pk"))
    wanted = {row.horse_id for row in work} | set(visit.materials.values_list("horse", flat=True))
    wanted |= {horse.pk} if horse else set()
    at_place = Horse.objects.filter(place=visit.place_id, status=Horse.Status.ACTIVE)
    rows = due_horses((at_place | Horse.objects.filter(pk__in=wanted)).distinct(), before=visit.date)
    done: dict[int, list[str]] = {}
    for row in work:
        done.setdefault(row.horse_id, []).append(str(row.service))
    return [
        HorseAtStop(
            visit, row.horse, row.days_over(visit.date), done.get(row.horse.pk, []), row.horse == horse
        )
        for row in rows
    ]


def next_horse(horses: list[HorseAtStop], after: Horse | None = None) -> HorseAtStop | None:
    """Return the next horse that waits, looking from the one after `after` on and round to it again."""
    keys = [row.horse for row in horses]
    start = keys.index(after) + 1 if after in keys else 0
    turned = horses[start:] + horses[:start]
    return next((row for row in turned if row.is_waiting and row.horse != after), None)


@dataclass(frozen=True)
class Stop:
    """A visit as its page shows it."""

    visit: Visit

    @cached_property
    def horses(self) -> list[HorseAtStop]:
        return horses_at(self.visit)

    @property
    def rows(self) -> list[ListRow]:
        return [row.row for row in self.horses]

    @cached_property
    def first(self) -> HorseAtStop | None:
        """The horse to start with; None where nobody waits, or what was billed stands."""
        return None if self.visit.is_fixed else next_horse(self.horses)

    @property
    def answer(self) -> str:
        """Who is due there, as the page's heading says it."""
        due = sum(row.is_due and not row.done for row in self.horses)
        if due:
            return f"{counted(due, 'horse')} {'is' if due == 1 else 'are'} due at {self.visit.place}."
        if any(row.done for row in self.horses):
            return f"Every horse due at {self.visit.place} is done."
        return f"No horse is due at {self.visit.place}."

    @property
    def status(self) -> str:
        """`planned, Truck`, `done, invoiced, Truck`."""
        words = [self.visit.get_status_display().lower()]
        if self.visit.locked:
            words.append("invoiced")
        elif self.visit.billed:
            words.append("billed before this book")
        return ", ".join([*words, *([str(self.visit.vehicle)] if self.visit.vehicle else [])])

    @cached_property
    def legs(self) -> list[Leg]:
        return list(self.visit.legs.select_related("vehicle").order_by("pk"))

    @cached_property
    def business_distance(self) -> Decimal | None:
        """The drives there with the visit's part of the way home, in the practice's distance unit."""
        return miles_of([self.visit.pk]).get(self.visit.pk)

    @cached_property
    def materials_cost(self) -> Decimal:
        return sum(cost_of_visit(self.visit).values(), Decimal(0))

    @cached_property
    def has_used_materials(self) -> bool:
        """Whether something left the truck for it, which can come back."""
        return self.visit.materials.filter(movement__isnull=False).exists()

    @property
    def done_look(self) -> str:
        """The class of the button that ends the stop: the main action once nobody waits."""
        return "act-2" if self.first else "act"

    @property
    def lacks_drive(self) -> bool:
        return not self.legs and self.visit.vehicle is not None
