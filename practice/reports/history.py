"""What was done to a horse before."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import QuerySet

from practice.models import Horse, MaterialUse, Visit, Work
from practice.reports.prescribed import as_prescribed, prescribed_on
from practice.rules.horse_work import HorseWork, UseLine, WorkLine, as_recorded
from stock.models import Item


@dataclass(frozen=True)
class PastVisit:
    """What was done to one horse at one visit, in order of entry."""

    visit: Visit
    work: list[Work]
    materials: list[MaterialUse]

    @property
    def date(self) -> date:
        return self.visit.date

    @property
    def services(self) -> str:
        return ", ".join(str(row.service) for row in self.work)

    @property
    def used(self) -> list[tuple[Item, Decimal]]:
        """What it took, each item once with its whole quantity, in order of entry."""
        sums: dict[Item, Decimal] = {}
        for use in self.materials:
            sums[use.item] = sums.get(use.item, Decimal(0)) + use.quantity
        return list(sums.items())

    @cached_property
    def uses(self) -> list[UseLine]:
        """Its materials as plain values, with the keys of items."""
        return [
            UseLine(use.item_id, use.item.kind, use.quantity, use.foot, use.price) for use in self.materials
        ]

    @cached_property
    def state(self) -> HorseWork:
        """What the form of the horse shows for it."""
        lines = [WorkLine(row.service_id, row.quantity, row.price, row.note) for row in self.work]
        return as_recorded(lines, self.uses)


def visits_with(horse: Horse) -> QuerySet[Visit]:
    """Return the done visits with work or materials on a horse, the latest first."""
    some = horse.work.values("visit").union(horse.materials.values("visit"))
    return Visit.objects.done().filter(pk__in=some).select_related("place").order_by("-date", "-pk")


def past_visits(horse: Horse, limit: int | None = None) -> list[PastVisit]:
    """Return the done visits with work or materials on a horse, the latest first."""
    return at_visits(visits_with(horse)[:limit], horse)


def at_visits(visits: Iterable[Visit], horse: Horse) -> list[PastVisit]:
    """Return what is written down for a horse at each of these visits, from two queries."""
    visits = list(visits)
    work, materials = defaultdict(list), defaultdict(list)
    for row in horse.work.filter(visit__in=visits).select_related("service").order_by("pk"):
        work[row.visit_id].append(row)
    for row in horse.materials.filter(visit__in=visits).select_related("item").order_by("pk"):
        materials[row.visit_id].append(row)
    return [PastVisit(visit, work[visit.pk], materials[visit.pk]) for visit in visits]


def at_visit(visit: Visit, horse: Horse) -> PastVisit:
    """Return what is written down for a horse at a visit."""
    return PastVisit(
        visit,
        list(visit.work.filter(horse=horse).select_related("service").order_by("pk")),
        list(visit.materials.filter(horse=horse).select_related("item").order_by("pk")),
    )


def last_time(horse: Horse, before: Visit) -> PastVisit | None:
    """Return what *As last time* copies: the horse's last cycle work, with the shoes that are prescribed now.

    None: never done.
    """
    last = last_shoeing(horse, before)
    if last is None or not (prescribed := prescribed_on(horse, before.date)):
        return last
    return replace(last, materials=as_prescribed(last.materials, prescribed))


def last_shoeing(horse: Horse, before: Visit) -> PastVisit | None:
    """Return the horse's last cycle work before a visit, as it was. None: never done."""
    work = (
        Work.objects.filter(
            horse=horse,
            service__resets_cycle=True,
            visit__status=Visit.Status.DONE,
            visit__date__lte=before.date,
        )
        .exclude(visit=before)
        .select_related("visit")
        .order_by("-visit__date", "-visit__pk")
        .first()
    )
    return at_visit(work.visit, horse) if work else None
