"""What visits bill: their parts, or why they are held back; fetched for many visits at once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from billing.models import Charge, TaxRate
from billing.reports.prices import PriceList
from billing.reports.who_pays import WhoPays
from billing.rules.lines import (
    CHARGE,
    MATERIAL,
    NO_OWNER,
    NO_PRICE,
    NO_REACH,
    SERVICE,
    TOO_LARGE,
    BilledRow,
    Held,
    LinePart,
    visit_parts,
)
from billing.rules.pricing import LineOf
from billing.rules.totals import DatedRate, rates_on
from billing.rules.travel import travel_charge
from practice.lib.choices import TravelRule
from practice.lib.formats import day_and_month
from practice.lib.millionths import LARGEST
from practice.lib.profile import Profile
from practice.models import Horse, Leg, MaterialUse, Visit, Work
from practice.reports.miles import parts_back_of
from practice.rules.charges import line_amount, unit_price


@dataclass(frozen=True)
class HeldVisit:
    """A visit that is held back: the contract's code, the reason in a sentence, and the horse it is about.

    `lacks_way_back`: the drive there is logged, the one that ends a round trip is not.
    """

    visit: Visit
    code: str
    reason: str
    horse: Horse | None
    lacks_way_back: bool = False


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
        is_round_trip = profile.travel_rule == TravelRule.ROUND_TRIP
        self.back = parts_back_of(visit.pk for visit in self.visits) if is_round_trip else {}
        horses = {row.horse_id for rows in (*self.work.values(), *self.materials.values()) for row in rows}
        self.who_pays = WhoPays(horses)

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
        paid = {entry.paid_as for entry in entries} | {(entry.horse, None) for entry in entries}
        outcome = visit_parts(
            entries,
            {paid_as: self.who_pays.of(*paid_as, visit.date) for paid_as in paid},
            self.travel(visit),
            rates_on(self.rates, visit.date, visit.place.area),
            self.profile.currency,
            self.profile.travel_taxable,
            self.profile.minimum_call or Decimal(0),
        )
        if isinstance(outcome, Held):
            return Billable(visit, [], self._held(visit, outcome))
        return Billable(visit, outcome, None)

    def charge(self, charge: Charge) -> LinePart:
        """Return a charge as the line that it makes: taxed as on its day at its visit's place, if taxable."""
        area = charge.visit.place.area if charge.visit else ""
        return LinePart(
            client=charge.client_id,
            kind=CHARGE,
            horse=None,
            code=charge.pk,
            quantity=charge.quantity,
            unit_price=charge.unit_price,
            share=Decimal(100),
            net=line_amount(charge.quantity, charge.unit_price, self.profile.currency),
            taxes=rates_on(self.rates, charge.date, area) if charge.taxable else (),
        )

    def travel(self, visit: Visit) -> Decimal | None:
        """Return the travel charge of a visit; None: it has no reach."""
        own = visit.place.travel_rate
        return travel_charge(
            self.profile.travel_rule,
            self.profile.travel_rate if own is None else own,
            [leg.distance for leg in self.legs[visit.pk]],
            self.profile.currency,
            self.back.get(visit.pk, Decimal(0)),
        )

    def _work_entries(self, visit: Visit) -> list[BilledRow]:
        return [
            BilledRow(
                SERVICE,
                row.horse_id,
                row.service_id,
                row.quantity,
                unit_price(
                    row.price,
                    self.prices.service(
                        row.service_id, visit.date, self._line(visit, row.horse_id, row.service_id)
                    ),
                ),
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
                unit_price(
                    row.price,
                    self.prices.item(
                        row.item_id, visit.date, row.item.sale_price, self._line(visit, row.horse_id)
                    ),
                ),
                row.item.taxable,
            )
            for row in self.materials[visit.pk]
        ]

    def _line(self, visit: Visit, horse_id: int, service_id: int | None = None) -> LineOf:
        return self.who_pays.line(horse_id, service_id, visit.place_id, visit.date)

    def _held(self, visit: Visit, held: Held) -> HeldVisit:
        when = day_and_month(visit.date, self.profile.locale)
        rows = [*self.work[visit.pk], *self.materials[visit.pk]]
        horse = next((row.horse for row in rows if row.horse_id == held.horse), None)
        if held.code == NO_PRICE:
            service = next(row.service for row in self.work[visit.pk] if row.service_id == held.service)
            reason = f"{horse}: {service} has no price on {when}."
        elif held.code == NO_OWNER:
            reason = f"{horse} has no owner on {when}."
        elif held.code == TOO_LARGE:
            reason = self._too_large(visit, horse, when)
        elif self.legs[visit.pk]:
            reason = f"The drive back is not logged for {when}."
        else:
            reason = f"No drive to {visit.place} is logged for {when}."
        lacks_way_back = held.code == NO_REACH and bool(self.legs[visit.pk])
        return HeldVisit(visit, held.code, reason, horse, lacks_way_back)

    def _too_large(self, visit: Visit, horse: Horse, when: str) -> str:
        if (self.travel(visit) or 0) >= LARGEST:
            return (
                f"The drive to {visit.place} on {when} comes to too much for an invoice."
                " Check its distance and the travel rate."
            )
        return (
            f"{horse}: the work and materials on {when} come to too much for an invoice."
            " Check the quantities and the prices."
        )
