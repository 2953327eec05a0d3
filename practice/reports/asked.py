"""Horses that are overdue by more than their whole cycle: nobody expects them, so the farrier is asked."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import LifeEvent, Place, Visit, Work
from practice.reports.due import DueHorse, due_horses


@dataclass(frozen=True)
class AskedHorse:
    """A horse to ask about, with what is known of it in words."""

    row: DueHorse
    on: date
    profile: Profile

    @property
    def pk(self) -> int:
        return self.row.horse.pk

    @property
    def name(self) -> str:
        return self.row.horse.name

    @property
    def url(self) -> str:
        return self.row.horse.get_absolute_url()

    @property
    def text(self) -> str:
        """`Ridge Barn, every 6 weeks. Last done Jul 3, due Aug 14: 61 days overdue.`"""
        over = formats.days_over(self.row.days_over(self.on))
        due = f"due {self._day(self.row.due)}: {over}."
        last = f"Last done {self._day(self.row.last)}, {due}" if self.row.last else due.capitalize()
        return f"{self.row.place_and_rhythm}. {last}"

    def _day(self, day: date) -> str:
        return formats.brief_date(day, self.profile.locale, self.on)

    @property
    def plan_url(self) -> str:
        """Where a visit is planned for it; blank while it stands nowhere."""
        return reverse("practice:horse-plan", args=[self.pk]) if self.row.horse.place_id else ""


def horses_to_ask(on: date, profile: Profile, rows: Iterable[DueHorse] | None = None) -> list[AskedHorse]:
    """Return the active horses over by more than their whole cycle, the longest overdue first.

    Not those that a planned visit names, and not those that were said to be done elsewhere since they were
    over by that much: that is asked once. `rows` are the due dates of active horses where they are at hand.
    """
    rows = due_horses() if rows is None else rows
    over = [row for row in rows if row.is_forgotten(on)]
    keys = [row.horse.pk for row in over]
    if not keys:
        return []
    planned = Work.objects.filter(
        horse__in=keys,
        service__resets_cycle=True,
        visit__status=Visit.Status.PLANNED,
        visit__date__gte=on,
    )
    named = set(planned.values_list("horse", flat=True))
    answers: dict[int, date] = {}
    for event in LifeEvent.objects.filter(horse__in=keys, kind=LifeEvent.Kind.ELSEWHERE):
        answers[event.horse_id] = max(answers.get(event.horse_id, date.min), event.recorded_on)
    return [
        AskedHorse(row, on, profile)
        for row in over
        if row.horse.pk not in named and answers.get(row.horse.pk, date.min) < row.forgotten_from
    ]


def day_planned_at(place: Place | None, on: date) -> date | None:
    """Return the first day from a day on for which a stop at a place is planned, None where there is none."""
    planned = Visit.objects.planned().filter(place=place, date__gte=on)
    return planned.order_by("date").values_list("date", flat=True).first()
