"""When each horse's next call is."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from practice.lib.formats import counted
from practice.models import Horse, Place, Visit


@dataclass(frozen=True)
class DueHorse:
    """A horse and its due date; None: never done, a new horse. `last` is the last work of its cycle.

    `is_elsewhere`: someone else did that.
    """

    horse: Horse
    last: date | None
    due: date | None
    is_elsewhere: bool = False

    @property
    def gone(self) -> str:
        """Why it is not due although it has a due date: `Retired`; blank for an active horse."""
        return "" if self.horse.status == Horse.Status.ACTIVE else self.horse.get_status_display()

    @property
    def rhythm(self) -> str:
        """How often the horse is done: `Every 6 weeks`."""
        return f"Every {counted(self.horse.cycle_weeks, 'week')}"

    @property
    def place_and_rhythm(self) -> str:
        """Where the horse stands and how often it is done: `Ridge Barn, every 6 weeks`."""
        return f"{self.horse.place}, {self.rhythm.lower()}" if self.horse.place else self.rhythm

    def is_overdue(self, on: date) -> bool:
        return self.due is not None and self.due < on

    def days_over(self, on: date) -> int | None:
        """Return days past the due date on a day, below zero while it is ahead; None for a new horse."""
        return None if self.due is None else (on - self.due).days

    @property
    def forgotten_from(self) -> date | None:
        """The first day on which it is over by more than its whole cycle; None for a new horse."""
        return None if self.due is None else self.due + timedelta(weeks=self.horse.cycle_weeks, days=1)

    def is_forgotten(self, on: date) -> bool:
        """Whether it is over by more than its whole cycle: it is not expected any more, but asked about."""
        return self.due is not None and on >= self.forgotten_from


def due_date(last: date | None, cycle_weeks: int, next_call: date | None) -> date | None:
    """Return the next call agreed while it is later than the last cycle work, else that work plus the cycle.

    A horse never done has only what was agreed: None where nothing was.
    """
    if next_call and (last is None or next_call > last):
        return next_call
    return last + timedelta(weeks=cycle_weeks) if last else None


def due_horses(horses: Iterable[Horse] | None = None, before: date | None = None) -> list[DueHorse]:
    """Return the due dates of active horses (or those given as a queryset), soonest first, new ones last.

    `before` leaves out work on and after that day: what was due when a visit began.
    """
    horses = Horse.objects.active() if horses is None else horses
    rows = [
        DueHorse(
            horse,
            horse.last_done,
            due_date(horse.last_done, horse.cycle_weeks, horse.next_call),
            is_elsewhere=horse.last_done is not None and horse.last_done != horse.last_here,
        )
        for horse in horses.select_related("place").with_last_done(before)
    ]
    return sorted(rows, key=lambda row: (row.due is None, row.due or date.max, row.horse.pk))


@dataclass(frozen=True)
class DuePlace:
    """A place with its horses that are due by a day, soonest first, and the visit planned there, if any."""

    place: Place
    horses: list[DueHorse]
    planned: Visit | None

    @property
    def due(self) -> date:
        return self.horses[0].due

    @property
    def horse_names(self) -> str:
        return ", ".join(str(row.horse) for row in self.horses)


@dataclass(frozen=True)
class DueList:
    """The page of what is due: places with horses overdue or due soon, and horses never done here.

    `rows` are the due dates of all active horses.
    """

    on: date
    places: list[DuePlace]
    new: list[DueHorse]
    rows: list[DueHorse]

    @property
    def answer(self) -> str:
        overdue = sum(row.is_overdue(self.on) for place in self.places for row in place.horses)
        if overdue:
            return f"{counted(overdue, 'horse')} {'is' if overdue == 1 else 'are'} overdue."
        if self.places:
            return "Nobody is overdue. These horses come next."
        return "Nobody is due in the next two weeks."


def due_list(on: date) -> DueList:
    """Return what is due by two weeks after a day, and every active horse that was never done here."""
    rows = due_horses()
    return DueList(on, due_places(on, rows=rows), [row for row in rows if row.due is None], rows)


def horses_in_words(horses: list[DueHorse], on: date) -> str:
    """Say how many there are and how many are overdue: `3 horses, 1 overdue`."""
    overdue = sum(row.is_overdue(on) for row in horses)
    return counted(len(horses), "horse") + (f", {overdue} overdue" if overdue else "")


def due_places(
    on: date, within: timedelta = timedelta(days=14), rows: Iterable[DueHorse] | None = None
) -> list[DuePlace]:
    """Return the places with horses overdue or due within a span after the day, soonest first.

    `rows` are the due dates of active horses, where they are at hand.
    """
    by_place = defaultdict(list)
    for row in due_horses() if rows is None else rows:
        if row.due and row.due <= on + within and row.horse.place_id and not row.horse.place.archived:
            by_place[row.horse.place].append(row)
    planned = {}
    for visit in Visit.objects.planned().filter(date__gte=on, place__in=by_place).order_by("-date", "-pk"):
        planned[visit.place_id] = visit
    rows = [DuePlace(place, horses, planned.get(place.pk)) for place, horses in by_place.items()]
    return sorted(rows, key=lambda row: (row.due, row.place.pk))
