"""The horses at a stop: those due first, what was done to each, and which one is next."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from practice.lib import formats
from practice.lib.addresses import NOT_IN_BOOK
from practice.lib.formats import counted
from practice.models import Horse, HorseTime, Visit
from practice.reports.due import DueHorse, due_horses
from practice.reports.working_time import last_services
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
    time: HorseTime | None = None

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
    def recorded_by(self) -> str:
        """The addresses of the forms by which a phone may have recorded it here."""
        again = reverse("practice:visit-as-last-time", args=[self.visit.pk])
        return f"{self.url} {again}" if self.last and self.is_due else self.url

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
    if horse and horse.pk == NOT_IN_BOOK:
        rows.append(DueHorse(horse, last=None, due=None))
    done: dict[int, list[str]] = defaultdict(list)
    for row in work:
        done[row.horse_id].append(str(row.service))
    last_work = _last_work(rows)
    times = {row.horse_id: row for row in visit.times.all()}
    return [
        HorseAtStop(
            visit=visit,
            horse=row.horse,
            due=row.due,
            last=row.last,
            last_work=", ".join(last_work[row.horse.pk]),
            done=done[row.horse.pk],
            is_open=row.horse == horse,
            time=times.get(row.horse.pk),
        )
        for row in rows
    ]


def _last_work(rows: list[DueHorse]) -> dict[int, list[str]]:
    """Return the services of each horse's last work, by its key, or that someone else did it."""
    days = {row.horse.pk: row.last for row in rows if row.last and not row.is_elsewhere}
    words: dict[int, list[str]] = defaultdict(list)
    words |= {row.horse.pk: ["by someone else"] for row in rows if row.is_elsewhere}
    words |= {horse: [str(service) for service in done] for horse, done in last_services(days).items()}
    return words


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
