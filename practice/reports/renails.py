"""Lost shoes that are put back for nothing, because they came off too soon after the practice's own work."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.db.models import Max, Q

from practice.lib.formats import counted, listed
from practice.models import Horse, Service, Visit
from practice.rules.horse_work import ServiceFacts, is_free_renail


@dataclass(frozen=True)
class FreeRenails:
    """Whether a lost shoe of a horse is free at a visit, within the `days` that the practice offers."""

    horse: Horse
    visit: Visit
    days: int | None

    @cached_property
    def nailed_on(self) -> date | None:
        """The last day up to the visit on which a shoe was nailed on the horse at another visit."""
        nails = Q(service__feet_nailed__gt=0) | Q(service__new_shoes__gt=0)
        before = Visit.objects.done().filter(date__lte=self.visit.date).exclude(pk=self.visit.pk)
        return self.horse.work.filter(nails, visit__in=before).aggregate(last=Max("visit__date"))["last"]

    def include(self, service: ServiceFacts) -> bool:
        """Whether a service is one of them."""
        if self.days is None or service.resets_cycle:
            return False
        return is_free_renail(service, self.nailed_on, self.visit.date, self.days)

    def why(self, services: Iterable[Service]) -> str:
        """Say why these cost nothing; blank where there are none."""
        names = listed(services)
        if not names:
            return ""
        days = (self.visit.date - self.nailed_on).days
        when = "on the same day" if days == 0 else f"{counted(days, 'day')} ago"
        return (
            f"{names}: free. You last nailed a shoe on {self.horse} {when}. To charge, change the unit price."
        )
