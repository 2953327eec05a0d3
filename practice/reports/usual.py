"""What is usual for a horse: its last work, what each foot wears, its shoe sizes, nails and pads."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from django.db.models import Count, Sum

from practice.models import Horse, MaterialUse, Prescription, Visit, Work
from practice.reports.history import PastVisit, last_time
from practice.reports.prescribed import prescribed_on
from practice.rules.horse_work import FEET, FORE, HIND, UsualShoeing
from stock.models import Fits, Item, ItemKind

# How many of a horse's last uses of shoes, nails and pads are looked at.
RECENT = 100


@dataclass(frozen=True)
class UsualForHorse:
    """What is usual for a horse when a visit begins; each part is fetched when it is first asked for."""

    horse: Horse
    visit: Visit

    @cached_property
    def last(self) -> PastVisit | None:
        """The last cycle work before the visit; None: never done."""
        return last_time(self.horse, self.visit)

    @cached_property
    def prescribed(self) -> dict[str, Prescription]:
        """What is prescribed on the day of the visit, by foot."""
        return prescribed_on(self.horse, self.visit.date)

    @cached_property
    def worn(self) -> dict[str, Item | None]:
        """What each shod foot comes in with: the last shoe that went on it, None where that is unknown.

        Shod are the feet nailed at the last cycle work, and those where a lost shoe was replaced since.
        """
        if self.last is None:
            return {}
        uses = (
            MaterialUse.objects.filter(
                horse=self.horse,
                item__kind__in=[ItemKind.SHOE, ItemKind.NAIL],
                visit__status=Visit.Status.DONE,
                visit__date__lte=self.visit.date,
            )
            .exclude(visit=self.visit)
            .exclude(foot="")
            .select_related("item", "visit")
            .order_by("visit__date", "visit", "pk")
        )
        shod = {use.foot for use in uses if use.visit.date >= self.last.date}
        by_foot = {use.foot: use.item for use in uses if use.item.kind == ItemKind.SHOE}
        return {foot: by_foot.get(foot) for foot in FEET if foot in shod}

    @cached_property
    def recent(self) -> list[MaterialUse]:
        """The horse's last uses of shoes, nails and pads that can still be had, the latest first."""
        uses = MaterialUse.objects.filter(
            horse=self.horse,
            item__kind__in=[ItemKind.SHOE, ItemKind.NAIL, ItemKind.PAD],
            item__archived=False,
        ).exclude(visit__status=Visit.Status.CANCELLED)
        return list(uses.select_related("item").order_by("-visit__date", "-pk")[:RECENT])

    def shoe(self, foot: str) -> Item | None:
        """Return the shoe prescribed for this foot, else the one it had last, else its like, else what the
        practice uses most there."""
        if (row := self.prescribed.get(foot)) and row.item and not row.item.archived:
            return row.item
        shoes = [use for use in self.recent if use.item.kind == ItemKind.SHOE]
        for feet in ((foot,), FORE if foot in FORE else HIND):
            if use := next((use for use in shoes if use.foot in feet), None):
                return use.item
        return self._most_used_fore if foot in FORE else self._most_used_hind

    @cached_property
    def nail(self) -> Item | None:
        """The nail the horse had last, else the one the practice uses most."""
        nails = (use.item for use in self.recent if use.item.kind == ItemKind.NAIL)
        return next(nails, None) or most_used(kind=ItemKind.NAIL)

    @cached_property
    def pads(self) -> list[Item]:
        """The pads the horse had, the latest first."""
        return list(dict.fromkeys(use.item for use in self.recent if use.item.kind == ItemKind.PAD))

    @cached_property
    def shoeing(self) -> UsualShoeing:
        """Shoes and nail as plain values, with the keys of items."""
        shoes = {foot: shoe.pk for foot in FEET if (shoe := self.shoe(foot))}
        return UsualShoeing(shoes, self.nail.pk if self.nail else None)

    @cached_property
    def _most_used_fore(self) -> Item | None:
        return most_used(kind=ItemKind.SHOE, fits__in=[Fits.FRONT, Fits.ANY])

    @cached_property
    def _most_used_hind(self) -> Item | None:
        return most_used(kind=ItemKind.SHOE, fits__in=[Fits.HIND, Fits.ANY])


def most_used(**which) -> Item | None:
    """Return the item with most facts in the ledger among those of a kind; None: there is none."""
    items = Item.objects.current().filter(**which)
    return items.annotate(uses=Count("movements")).order_by("-uses", "pk").first()


def usual_prices(service: int, visit: Visit) -> list[Decimal]:
    """Return the unit prices that were typed for a service at the last visits before this one."""
    rows = Work.objects.filter(service=service, price__isnull=False, visit__date__lte=visit.date)
    rows = rows.exclude(visit=visit).order_by("-visit__date", "-pk")
    return list(rows.values_list("price", flat=True)[:RECENT])


def usual_quantities(items: Iterable[int], visit: Visit) -> dict[int, list[Decimal]]:
    """Return how much of each item one horse took at the last visits before this one, by the item's key."""
    amounts = {}
    for item in items:
        rows = MaterialUse.objects.filter(item=item, visit__date__lte=visit.date).exclude(visit=visit)
        sums = rows.values("visit__date", "visit", "horse").annotate(sum=Sum("quantity"))
        amounts[item] = [row["sum"] for row in sums.order_by("-visit__date", "-visit")[:RECENT]]
    return amounts
