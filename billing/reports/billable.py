"""What visits bill: their parts, or why they are held back; fetched for many visits at once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import Price, TaxRate
from billing.rules.lines import (
    MATERIAL,
    NO_OWNER,
    NO_PRICE,
    SERVICE,
    BilledRow,
    Held,
    LinePart,
    Share,
    visit_parts,
)
from billing.rules.pricing import price_on
from billing.rules.totals import DatedRate, rates_on
from billing.rules.travel import travel_charge
from practice.lib.formats import day_and_month
from practice.lib.profile import Profile
from practice.models import Horse, Leg, MaterialUse, Owner, Visit, Work
from practice.rules.charges import unit_price


class PriceList:
    """All dated prices of the practice, fetched once."""

    def __init__(self):
        self._services, self._items = defaultdict(list), defaultdict(list)
        for row in Price.objects.order_by("pk"):
            table = self._services if row.service_id else self._items
            table[row.service_id or row.item_id].append((row.valid_from, row.price))

    def service(self, service_id: int, on: date) -> Decimal | None:
        """Return the price of one unit on a day; None: there is none."""
        return price_on(self._services[service_id], on)

    def item(self, item_id: int, on: date, sale_price: Decimal | None) -> Decimal | None:
        """Return the price of one unit on a day; None: covered by the price of the work."""
        return price_on(self._items[item_id], on, sale_price)


@dataclass(frozen=True)
class HeldVisit:
    """A visit that is held back: the contract's code, the reason in a sentence, and the horse it is about."""

    visit: Visit
    code: str
    reason: str
    horse: Horse | None


@dataclass(frozen=True)
class Billable:
    """What one visit bills: parts with keys of clients, horses, services and items; or why it is held."""

    visit: Visit
    parts: list[LinePart]
    held: HeldVisit | None


class Biller:
    """Works out what visits bill, from a fixed number of queries however many they are."""

    def __init__(self, visits: Iterable[Visit], profile: Profile):
        self.visits, self.profile = list(visits), profile
        self.prices = PriceList()
        self.rates = [
            DatedRate(row.name, row.valid_from, row.rate, row.valid_to, row.area)
            for row in TaxRate.objects.order_by("pk")
        ]
        self.work = self._by_visit(Work.objects.select_related("service", "horse"))
        self.materials = self._by_visit(MaterialUse.objects.select_related("item", "horse"))
        self.legs = self._by_visit(Leg.objects.all())
        horses = {row.horse_id for rows in (*self.work.values(), *self.materials.values()) for row in rows}
        self.owners = defaultdict(list)
        for owner in Owner.objects.filter(horse__in=horses).order_by("pk"):
            self.owners[owner.horse_id].append(owner)

    def _by_visit(self, rows) -> dict[int, list]:
        table = defaultdict(list)
        for row in rows.filter(visit__in=[visit.pk for visit in self.visits]).order_by("pk"):
            table[row.visit_id].append(row)
        return table

    def all(self) -> list[Billable]:
        return [self.one(visit) for visit in self.visits]

    def one(self, visit: Visit) -> Billable:
        """Return what a visit bills. Needs `visit.place`."""
        entries = [*self._work_entries(visit), *self._material_entries(visit)]
        outcome = visit_parts(
            entries,
            {entry.horse: self._shares(entry.horse, visit.date) for entry in entries},
            self.travel(visit),
            rates_on(self.rates, visit.date, visit.place.area),
            self.profile.currency,
            self.profile.travel_taxable,
        )
        if isinstance(outcome, Held):
            return Billable(visit, [], self._held(visit, outcome))
        return Billable(visit, outcome, None)

    def travel(self, visit: Visit) -> Decimal | None:
        """Return the travel charge of a visit; None: it has no reach."""
        own = visit.place.travel_rate
        return travel_charge(
            self.profile.travel_rule,
            self.profile.travel_rate if own is None else own,
            [leg.distance for leg in self.legs[visit.pk]],
            self.profile.currency,
        )

    def _work_entries(self, visit: Visit) -> list[BilledRow]:
        return [
            BilledRow(
                SERVICE,
                row.horse_id,
                row.service_id,
                row.quantity,
                unit_price(row.price, self.prices.service(row.service_id, visit.date)),
                row.service.taxable,
            )
            for row in self.work[visit.pk]
        ]

    def _material_entries(self, visit: Visit) -> list[BilledRow]:
        return [
            BilledRow(
                MATERIAL,
                row.horse_id,
                row.item_id,
                row.quantity,
                unit_price(row.price, self.prices.item(row.item_id, visit.date, row.item.sale_price)),
                row.item.taxable,
            )
            for row in self.materials[visit.pk]
        ]

    def _shares(self, horse_id: int, on: date) -> list[Share]:
        return [
            Share(owner.client_id, owner.share)
            for owner in self.owners[horse_id]
            if (owner.valid_from or date.min) <= on <= (owner.valid_to or date.max)
        ]

    def _held(self, visit: Visit, held: Held) -> HeldVisit:
        when = day_and_month(visit.date, self.profile.locale)
        rows = [*self.work[visit.pk], *self.materials[visit.pk]]
        horse = next((row.horse for row in rows if row.horse_id == held.horse), None)
        if held.code == NO_PRICE:
            service = next(row.service for row in self.work[visit.pk] if row.service_id == held.service)
            reason = f"{horse}: {service} has no price on {when}."
        elif held.code == NO_OWNER:
            reason = f"{horse} has no owner on {when}."
        else:
            reason = f"No drive to {visit.place} is logged for {when}."
        return HeldVisit(visit, held.code, reason, horse)
