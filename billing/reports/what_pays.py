"""What an hour and a mile bring in, by client, place, horse and service; which stops lost money."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from django.db.models import QuerySet

from billing.models import CreditNoteLine, InvoiceLine
from billing.reports.billable import Biller
from billing.reports.credits import freed_visits
from billing.reports.year.expenses import expenses_in
from billing.reports.year.miles import miles_in
from billing.rules.lines import DISCOUNT, DISCOUNTED
from billing.rules.paying import (
    CLIENT,
    HORSE,
    PLACE,
    SERVICE,
    Earnings,
    HorseEarnings,
    VisitEarnings,
    what_pays,
)
from practice.lib.money import round_money
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.lib.queries import sum_of
from practice.models import Client, Horse, MaterialReturn, MaterialUse, Place, Service, Visit, Work
from practice.reports.material_costs import cost_by_visit_and_horse
from practice.reports.miles import business_miles

MODELS = {CLIENT: Client, PLACE: Place, HORSE: Horse, SERVICE: Service}
STANDARD_RATE, ACTUAL_COSTS = "the standard rate", "actual costs"


@dataclass(frozen=True)
class EarningsRow:
    """A client, place, horse, service or visit, and what it brought in. Rounded to be shown.

    `left` is income less materials and driving; `an_hour` that per hour of work, `a_distance` income
    less materials per mile or kilometer; None where no minutes or no distance is known.
    """

    thing: object
    visits: int
    income: Decimal
    materials: Decimal
    distance: Decimal
    minutes: int
    left: Decimal
    an_hour: Decimal | None
    a_distance: Decimal | None

    @property
    def hours(self) -> Decimal:
        return Decimal(self.minutes) / 60


@dataclass(frozen=True)
class WhatPays:
    """A year's work seen four ways, each the best paid hour first, and the stops that lost money.

    `per_distance` is what a mile or kilometer costs at the year's rate; `by` names what it rests on,
    blank where no business drive is logged. `losing` has the worst stop first. Visits that are held back
    are left out, `held` says how many.
    """

    period: Period
    per_distance: Decimal
    by: str
    views: dict[str, list[EarningsRow]]
    losing: list[EarningsRow]
    total: EarningsRow | None
    held: int = 0


def what_paid(period: Period, profile: Profile) -> WhatPays:
    """Return what a period's done visits brought in and cost, as the book stands."""
    visits = list(
        Visit.objects.done()
        .filter(date__gte=period.begin, date__lte=period.end)
        .select_related("place")
        .order_by("date", "pk")
    )
    per_distance, by = cost_of_distance(period, profile)
    nets, held = nets_of(visits, profile)
    visits = [visit for visit in visits if visit.pk not in held]
    sums = what_pays(_stops(visits, nets, period))
    exact = Fraction(per_distance)

    def row_of(thing, earned: Earnings) -> EarningsRow:
        def money(amount: Fraction | None) -> Decimal | None:
            return None if amount is None else round_money(decimal_of(amount), profile.currency)

        return EarningsRow(
            thing,
            len(earned.visits),
            money(earned.income),
            money(earned.materials),
            decimal_of(earned.distance),
            round(earned.minutes),
            money(earned.left(exact)),
            money(earned.an_hour(exact)),
            money(earned.a_distance()),
        )

    views = {}
    for view, model in MODELS.items():
        things = model.objects.in_bulk(sums.get(view, {}))
        rows = [row_of(things[key], earned) for key, earned in sums.get(view, {}).items()]
        views[view] = sorted(rows, key=lambda row: (row.an_hour is None, -(row.an_hour or 0), row.thing.pk))
    by_visit = {visit.pk: visit for visit in visits}
    stops = [row_of(by_visit[key], earned) for key, earned in sums.get("visit", {}).items()]
    losing = sorted((row for row in stops if row.left < 0), key=lambda row: row.left)
    whole = Earnings()
    for key, earned in sums.get("visit", {}).items():
        whole.add(key, Fraction(1), earned)
    total = row_of(None, whole) if stops else None
    return WhatPays(period, per_distance, by, views, losing, total, len(held))


def cost_of_distance(period: Period, profile: Profile) -> tuple[Decimal, str]:
    """Return what one mile or kilometer of the period cost, and what that rests on; 0 without a drive."""
    expenses = expenses_in(period, profile.home_country)
    miles = miles_in(period, profile, expenses.vehicle_costs, expenses.parking_and_tolls)
    if not miles.business:
        return Decimal(0), ""
    if miles.standard.rows:
        return _thousandths(miles.standard.total, miles.business), STANDARD_RATE
    return _thousandths(miles.actual.amount, miles.business), ACTUAL_COSTS


def _thousandths(amount: Decimal, distance: Decimal) -> Decimal:
    return (amount / distance).quantize(Decimal("0.001"), ROUND_HALF_UP)


def decimal_of(number: Fraction) -> Decimal:
    """Return a fraction to six decimals, half away from zero: fine enough for what is shown."""
    millionths = (abs(number) * 2 * 10**6 + 1) // 2
    return Decimal(int(millionths if number >= 0 else -millionths)).scaleb(-6)


def _stops(visits: list[Visit], nets: dict, period: Period) -> list[VisitEarnings]:
    keys = [visit.pk for visit in visits]
    minutes: dict[int, dict[int, dict[int, Fraction]]] = defaultdict(
        lambda: defaultdict(lambda: defaultdict(Fraction))
    )
    work = Work.objects.filter(visit__in=keys).order_by("pk")
    for visit, horse, service, each, quantity in work.values_list(
        "visit", "horse", "service", "service__minutes", "quantity"
    ):
        minutes[visit][horse][service] += (each or 0) * Fraction(quantity)
    costs = cost_by_visit_and_horse(
        MaterialUse.objects.filter(visit__in=keys), MaterialReturn.objects.filter(visit__in=keys)
    )
    distances = business_miles(period.begin, period.end).visits
    return [
        VisitEarnings(
            visit.pk,
            visit.place_id,
            tuple(
                HorseEarnings(
                    horse,
                    dict(nets[visit.pk, horse]),
                    dict(services),
                    Fraction(costs.get((visit.pk, horse), 0)),
                )
                for horse, services in minutes[visit.pk].items()
            ),
            Fraction(distances.get(visit.pk, 0)),
            _clock(visit),
        )
        for visit in visits
        if minutes[visit.pk]
    ]


def _clock(visit: Visit) -> Fraction | None:
    """Return the minutes from arriving to leaving; None where one of them is not written down."""
    if visit.came is None or visit.leave is None or visit.leave <= visit.came:
        return None
    spent = datetime.combine(visit.date, visit.leave) - datetime.combine(visit.date, visit.came)
    return Fraction(int(spent.total_seconds()), 60)


def nets_of(
    visits: list[Visit], profile: Profile
) -> tuple[dict[tuple[int, int], dict[int, Fraction]], set[int]]:
    """Return what each client pays by visit and horse, as invoiced, else as it would be billed.

    Less what was credited. And the visits that are held back, which cannot be billed yet.
    """
    nets: dict[tuple[int, int], dict[int, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    written, held = set(), set()
    lines = InvoiceLine.objects.standing().filter(visit__in=[visit.pk for visit in visits])
    credited, kept = sum_of(CreditNoteLine.objects.all(), "net", per="line"), kept_of_lines(lines)
    for line, visit, horse, client, net, gone in lines.annotate(gone=credited).values_list(
        "pk", "visit", "horse", "client", "net", "gone"
    ):
        nets[visit, horse][client] += Fraction(net - gone) * kept.get(line, 1)
        written.add(visit)
    rest = [visit for visit in visits if visit.pk not in written]
    freed = freed_visits([visit.pk for visit in rest])
    percents = dict(Client.objects.filter(discount__isnull=False).values_list("pk", "discount"))
    for billable in Biller(rest, profile).all():
        waits = billable.visit.pk in freed and not freed[billable.visit.pk].again
        if billable.held or waits:
            held.add(billable.visit.pk)
            continue
        for part in billable.parts:
            taken_off = percents.get(part.client, 0) if part.kind in DISCOUNTED else 0
            nets[billable.visit.pk, part.horse][part.client] += Fraction(part.net) * _kept(taken_off)
    return nets, held


def _kept(percent: Decimal | int) -> Fraction:
    """Return which part of an amount a discount leaves."""
    return 1 - Fraction(percent) / 100


def kept_of_lines(lines: QuerySet[InvoiceLine]) -> dict[int, Fraction]:
    """Return which part of these lines their client's discount leaves, by key; none that have no discount.

    What was taken off a set of rates belongs to its services and materials in proportion.
    """
    off = InvoiceLine.objects.filter(kind=DISCOUNT, invoice__in=lines.values("invoice"))
    set_of = ("invoice", "tax_names", "tax_rates", "tax_areas")
    taken_off = {tuple(key): net for *key, net in off.values_list(*set_of, "net")}
    if not taken_off:
        return {}
    reduced = InvoiceLine.objects.filter(kind__in=DISCOUNTED, invoice__in=off.values("invoice"))
    wholes: dict[tuple, Decimal] = defaultdict(Decimal)
    keys = {}
    for line, net, *key in reduced.values_list("pk", "net", *set_of):
        keys[line] = tuple(key)
        wholes[tuple(key)] += net
    return {
        line: 1 + Fraction(taken_off[key]) / Fraction(wholes[key])
        for line, key in keys.items()
        if key in taken_off and wholes[key]
    }
