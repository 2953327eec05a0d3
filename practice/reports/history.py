"""What was done to a horse before."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.models import Horse, MaterialUse, Visit, Work
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
    def used(self) -> list[tuple[Item, Decimal]]:
        """What it took, each item once with its whole quantity, in order of entry."""
        sums: dict[Item, Decimal] = {}
        for use in self.materials:
            sums[use.item] = sums.get(use.item, Decimal(0)) + use.quantity
        return list(sums.items())


def past_visits(horse: Horse, limit: int | None = None) -> list[PastVisit]:
    """Return the done visits with work or materials on a horse, the latest first."""
    visits = (
        Visit.objects.done()
        .filter(pk__in=horse.work.values("visit").union(horse.materials.values("visit")))
        .select_related("place")
        .order_by("-date", "-pk")[:limit]
    )
    return [at_visit(visit, horse) for visit in visits]


def at_visit(visit: Visit, horse: Horse) -> PastVisit:
    """Return what is written down for a horse at a visit."""
    return PastVisit(
        visit,
        list(visit.work.filter(horse=horse).select_related("service").order_by("pk")),
        list(visit.materials.filter(horse=horse).select_related("item").order_by("pk")),
    )


def last_time(horse: Horse, before: Visit) -> PastVisit | None:
    """Return the horse's last cycle work before a visit: what *As last time* copies. None: never done."""
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
