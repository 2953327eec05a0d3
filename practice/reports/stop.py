"""A stop of the round: the horses there, those due first, what was done, and the drive that reached it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import F

from practice.lib import formats
from practice.lib.formats import counted
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Client, Horse, Leg, Place, Visit, Work
from practice.reports.due import DueHorse, due_horses
from practice.reports.earlier_findings import EarlierFinding, earlier_findings
from practice.reports.material_costs import cost_of_visit
from practice.reports.miles import miles_of
from practice.reports.reaching import clients_to_call, directions_to
from practice.rules.cycle import CycleWeeks, cycle_weeks

# A horse due this many days after the visit is offered as the next one all the same.
NEARLY_DUE_DAYS = 10


@dataclass(frozen=True)
class HorseAtStop:
    """A horse at a stop, with its due date when the visit begins (None: new), and what was done there.

    `last` is the day of its last cycle work before, `last_work` the services of it.
    """

    visit: Visit
    horse: Horse
    due: date | None
    last: date | None
    last_work: str
    done: list[str]
    is_open: bool = False

    @property
    def days(self) -> int | None:
        """Days past the due date, below zero while it is ahead; None for a new horse."""
        return None if self.due is None else (self.visit.date - self.due).days

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
    def services(self) -> str:
        """What was done to it here."""
        return ", ".join(self.done)

    @property
    def rhythm(self) -> str:
        return f"every {counted(self.horse.cycle_weeks, 'week')}"

    @property
    def weeks(self) -> CycleWeeks | None:
        """Its cycle in weeks, from the last work to the due date; None where one of them is not known."""
        return cycle_weeks(self.last, self.due, self.visit.date) if self.last and self.due else None

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
    done: dict[int, list[str]] = defaultdict(list)
    for row in work:
        done[row.horse_id].append(str(row.service))
    last_work = _last_work(rows)
    return [
        HorseAtStop(
            visit=visit,
            horse=row.horse,
            due=row.due,
            last=row.last,
            last_work=", ".join(last_work[row.horse.pk]),
            done=done[row.horse.pk],
            is_open=row.horse == horse,
        )
        for row in rows
    ]


def _last_work(rows: list[DueHorse]) -> dict[int, list[str]]:
    """Return the services of each horse's last work, by its key, or that someone else did it."""
    days = {row.horse.pk: row.last for row in rows if row.last and not row.is_elsewhere}
    work = Work.objects.filter(
        horse__in=days, visit__status=Visit.Status.DONE, visit__date__in=set(days.values())
    ).select_related("service")
    services: dict[int, list[str]] = defaultdict(list)
    services |= {row.horse.pk: ["by someone else"] for row in rows if row.is_elsewhere}
    for row in work.annotate(on=F("visit__date")).order_by("pk"):
        if days[row.horse_id] == row.on:
            services[row.horse_id].append(str(row.service))
    return services


def next_horse(horses: list[HorseAtStop], after: Horse | None = None) -> HorseAtStop | None:
    """Return the next horse that waits, looking from the one after `after` on and round to it again.

    Those that are due come first. After the last one of them, nobody waits any more: a new or nearly due
    horse follows only another such horse, or nothing at all.
    """
    keys = [row.horse for row in horses]
    start = keys.index(after) + 1 if after in keys else 0
    turned = [row for row in horses[start:] + horses[:start] if row.is_waiting and row.horse != after]
    due = next((row for row in turned if row.is_due), None)
    if due:
        return due
    is_done = any(row.is_due for row in horses if row.done or row.horse == after)
    return None if is_done else next(iter(turned), None)


@dataclass(frozen=True)
class Stop:
    """A visit as its page shows it."""

    visit: Visit
    profile: Profile

    @cached_property
    def horses(self) -> list[HorseAtStop]:
        return horses_at(self.visit)

    @cached_property
    def due(self) -> list[HorseAtStop]:
        """The horses that are due and not done yet."""
        return [row for row in self.horses if row.is_due and not row.done]

    @cached_property
    def done(self) -> list[HorseAtStop]:
        return [row for row in self.horses if row.done]

    @cached_property
    def others(self) -> list[HorseAtStop]:
        """The horses that stand there and are not due, new ones last."""
        return [row for row in self.horses if not row.is_due and not row.done]

    @property
    def can_change(self) -> bool:
        """Whether work can be entered: it is not billed, and not canceled."""
        return not self.visit.is_fixed and self.visit.status != Visit.Status.CANCELLED

    @property
    def repeatable(self) -> list[HorseAtStop]:
        """The due horses with a last time, whose work can be repeated."""
        return [row for row in self.due if row.last] if self.can_change else []

    @property
    def repeatable_names(self) -> str:
        return formats.listed(row.horse for row in self.repeatable)

    @property
    def can_be_done(self) -> bool:
        """Whether the stop can be ended, as the next thing to do: nobody waits."""
        return self.visit.status == Visit.Status.PLANNED and not self.first

    @property
    def can_be_ended_early(self) -> bool:
        """Whether the stop can be ended although a horse waits."""
        return self.visit.status == Visit.Status.PLANNED and self.first is not None

    @property
    def is_billed_here(self) -> bool:
        """Whether there is something to bill or to pay: it is over, or a horse is saved."""
        return self.visit.status != Visit.Status.PLANNED or bool(self.done)

    @property
    def has_thumb(self) -> bool:
        return bool(self.first or self.can_be_done)

    @cached_property
    def first(self) -> HorseAtStop | None:
        """The horse to start with; None where nobody waits, or what was billed stands."""
        return next_horse(self.horses) if self.can_change else None

    @property
    def worked_on(self) -> list[HorseAtStop]:
        """The horses that are due or done here: what is to be known of others can wait."""
        return [*self.due, *self.done]

    @property
    def with_cautions(self) -> list[HorseAtStop]:
        return [row for row in self.worked_on if row.horse.cautions]

    @property
    def with_notes(self) -> list[HorseAtStop]:
        return [row for row in self.worked_on if row.horse.notes]

    @cached_property
    def earlier_findings(self) -> list[EarlierFinding]:
        """What was seen on these horses before and is not seen to yet."""
        findings = earlier_findings([row.horse for row in self.worked_on], self.visit, self.profile)
        return [row for row in findings if not row.is_resolved]

    @property
    def for_vet(self) -> list[EarlierFinding]:
        """The findings that were for the veterinarian."""
        return [row for row in self.earlier_findings if row.is_for_vet]

    @property
    def to_look_at(self) -> list[ListRow]:
        """The other findings; each opens the horse's form, where it is marked as seen to."""
        rows = [row for row in self.earlier_findings if not row.is_for_vet]
        return [
            ListRow(self.visit.horse_url(row.horse), str(row.horse), f"{row.seen} {row.when}") for row in rows
        ]

    @property
    def directions(self) -> str:
        return directions_to(self.visit.place)

    @cached_property
    def calls(self) -> list[tuple[Place | Client, str]]:
        """Whom to call about the place, each with the address that dials the number."""
        return clients_to_call(self.visit.place, self.visit.date)

    @property
    def knows_place(self) -> bool:
        """Whether there is anything to say of the place and the horses there."""
        place = self.visit.place
        known = (place.address, place.notes, place.phone, place.gate_code)
        return any(known) or bool(self.with_notes or self.directions or self.calls)

    @property
    def answer(self) -> str:
        """Who is due there, as the page's heading says it."""
        due = len(self.due)
        if due:
            return f"{counted(due, 'horse')} {'is' if due == 1 else 'are'} due at {self.visit.place}."
        if self.done:
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
        """The drives there with the visit's part of the drive home, in the practice's distance unit."""
        return miles_of([self.visit.pk]).get(self.visit.pk)

    @cached_property
    def materials_cost(self) -> Decimal:
        return sum(cost_of_visit(self.visit).values(), Decimal(0))

    @cached_property
    def has_used_materials(self) -> bool:
        """Whether something left the truck for it, which can come back."""
        return self.visit.materials.filter(movement__isnull=False).exists()

    @property
    def lacks_drive(self) -> bool:
        return not self.legs and self.visit.vehicle is not None
