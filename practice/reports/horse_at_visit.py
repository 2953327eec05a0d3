"""A horse at a visit: what is saved of it, what is usual, and what there is to choose from."""

from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Protocol

from practice.lib.addresses import NOT_IN_BOOK
from practice.lib.profile import Profile
from practice.models import Horse, Place, Service, Visit
from practice.reports.earlier_findings import EarlierFinding, earlier_findings
from practice.reports.history import PastVisit, at_visit
from practice.reports.prescribed import PrescribedLine, prescribed_lines
from practice.reports.renails import FreeRenails
from practice.reports.usual import UsualForHorse
from practice.rules.horse_work import ServiceFacts
from stock.models import Item, ItemKind


class DayPrices(Protocol):
    """Prices of one unit on the visit's date, in the practice's currency; None where there is none."""

    def service(self, service_id: int) -> Decimal | None: ...

    def item(self, item: Item) -> Decimal | None: ...


# Gives the prices of a day for a horse at a place; handed down by the root of the addresses, as prices are
# billing's.
Prices = Callable[[date, Horse, Place], DayPrices]


class HorseAtVisit:
    """A horse at a visit: what is saved of it, what is usual, and the services and items to choose from."""

    def __init__(self, visit: Visit, horse: Horse, profile: Profile):
        self.visit, self.horse, self.profile = visit, horse, profile
        self.usual = UsualForHorse(horse, visit)
        self.renails = FreeRenails(horse, visit, profile.free_renail_days)

    @cached_property
    def recorded(self) -> PastVisit:
        return at_visit(self.visit, self.horse)

    @cached_property
    def services(self) -> dict[int, Service]:
        """The services in use, and those done here or the last time, by their keys."""
        done = [row.service_id for visit in self._past for row in visit.work]
        rows = Service.objects.current() | Service.objects.filter(pk__in=done)
        return {row.pk: row for row in rows.distinct().order_by("pk")}

    @cached_property
    def items(self) -> dict[int, Item]:
        """The items in use, and those used here or the last time, by their keys."""
        used = [use.item_id for visit in self._past for use in visit.materials]
        rows = Item.objects.current() | Item.objects.filter(pk__in=used)
        return {row.pk: row for row in rows.distinct().order_by("pk")}

    @cached_property
    def prescribed(self) -> list[PrescribedLine]:
        """What is prescribed for the horse on that day."""
        return prescribed_lines(self.horse, self.visit.date, self.profile)

    @cached_property
    def earlier_findings(self) -> list[EarlierFinding]:
        """What was seen at the last visits and was not seen to by then."""
        return earlier_findings([self.horse], self.visit, self.profile)

    @property
    def is_on_phone(self) -> bool:
        """Whether the horse is only on a phone so far."""
        return self.horse.pk == NOT_IN_BOOK

    @property
    def can_repeat(self) -> bool:
        """Whether the last time can be saved here: there is one, and nothing is saved yet."""
        has_some = self.recorded.work or self.recorded.uses
        return self.usual.last is not None and not has_some and not self.visit.is_fixed

    @property
    def _past(self) -> list[PastVisit]:
        return [visit for visit in (self.recorded, self.usual.last) if visit]

    @property
    def counted(self) -> list[Item]:
        """The items that are neither shoe nor nail, the pads this horse had first."""
        rows = [item for item in self.items.values() if item.kind not in (ItemKind.SHOE, ItemKind.NAIL)]
        return [item for item in self.usual.pads if item in rows] + [
            item for item in rows if item not in self.usual.pads
        ]

    def facts_of(self, keys: Iterable[int]) -> list[ServiceFacts]:
        """Return what services say about feet and shoes, as plain values."""
        return [
            ServiceFacts(
                row.pk,
                row.new_shoes or 0,
                row.feet_nailed or 0,
                row.fitted == Service.Fitted.HOT,
                row.resets_cycle,
            )
            for row in (self.services[key] for key in keys)
        ]
