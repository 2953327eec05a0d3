"""The planned stops that mean certain horses, and what may become of those stops."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Horse, Visit
from practice.reports.due import due_horses
from practice.reports.expected_use import horses_of

KEEP, CANCEL, OFF = "keep", "cancel", "off"


@dataclass(frozen=True)
class PlannedStop:
    """A planned stop that names some of the horses asked about, or stands for them where it names none.

    `is_for_others`: it is for other horses too.
    """

    visit: Visit
    horses: tuple[Horse, ...]
    is_named: bool
    is_for_others: bool

    @property
    def answers(self) -> dict[str, str]:
        """What may become of it, in words, by code."""
        words = {KEEP: "Keep the stop", CANCEL: "Cancel the stop"}
        if self.is_named:
            words[OFF] = f"Take {formats.listed(self.horses)} off the stop"
        return words

    @property
    def without_them(self) -> str:
        """What is proposed where the horses are not to be done there."""
        if not self.is_for_others:
            return CANCEL
        return OFF if self.is_named else KEEP


def planned_stops(horses: Collection[Horse], today: date) -> list[PlannedStop]:
    """Return the planned stops that name one of these horses, or from today on stand for one; by date.

    Those of days that are closed for good are left out.
    """
    wanted = {horse.pk: horse for horse in horses}
    planned = Visit.objects.planned().select_related("place").order_by("date", "pk")
    if through := Profile.current().closed_through:
        planned = planned.filter(date__gt=through)
    naming = planned.filter(Q(work__horse__in=wanted) | Q(materials__horse__in=wanted)).distinct()
    stops = [
        _stop(visit, {row.horse_id for row in (*visit.work.all(), *visit.materials.all())}, wanted, True)
        for visit in naming.prefetch_related("work", "materials")
    ]
    named = {stop.visit.pk for stop in stops}
    due = {row.horse.pk: row for row in due_horses()}
    forgotten = {key for key, row in due.items() if row.is_forgotten(today)}
    for visit, meant in horses_of(today, planned.filter(date__gte=today), due, forgotten):
        if visit.pk not in named and wanted.keys() & set(meant):
            stops.append(_stop(visit, meant, wanted, False))
    return sorted(stops, key=lambda stop: (stop.visit.date, stop.visit.pk))


def _stop(visit: Visit, meant: Iterable[int], wanted: dict[int, Horse], is_named: bool) -> PlannedStop:
    meant = set(meant)
    horses = tuple(horse for key, horse in wanted.items() if key in meant)
    return PlannedStop(visit, horses, is_named, is_for_others=bool(meant - wanted.keys()))
