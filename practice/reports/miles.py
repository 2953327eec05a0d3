"""Business miles by visit, and what horses, clients and places were driven for."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q, QuerySet

from practice.lib.formats import counted
from practice.lib.periods import tax_year, tax_year_of
from practice.lib.profile import Profile
from practice.models import Client, Horse, Leg, Visit
from practice.reports.odometers import in_driving_order
from practice.rules.miles import DayLeg, parts_back, visit_miles

ZERO = Decimal(0)


@dataclass(frozen=True)
class BusinessMiles:
    """Business miles by the visit's key, and those of days on which a vehicle reached no visit."""

    visits: dict[int, Decimal]
    unassigned: Decimal

    @property
    def total(self) -> Decimal:
        return sum(self.visits.values(), self.unassigned)


@dataclass(frozen=True)
class YearMiles:
    """What a year's visits were driven for. `year` is the one in which the tax year begins."""

    year: int
    label: str
    visits: int
    distance: Decimal

    @property
    def visits_in_words(self) -> str:
        return counted(self.visits, "visit")


def business_miles(begin: date, end: date) -> BusinessMiles:
    """Return the business miles of all legs dated from `begin` to `end`."""
    return _by_visit(Leg.objects.filter(date__range=(begin, end)))


def miles_of(visits: Iterable[int]) -> dict[int, Decimal]:
    """Return the business miles of these visits, by key; a visit without a leg is not in it."""
    visits = set(visits)
    legs, days = _days_of(visits)
    found = _by_visit(legs, days).visits
    return {visit: distance for visit, distance in found.items() if visit in visits}


def parts_back_of(visits: Iterable[int]) -> dict[int, Decimal | None]:
    """Return these visits' parts of the business drives that reach no visit, by key.

    None where a vehicle's day has no drive yet after the last one to a visit. A visit without a leg is not in
    it.
    """
    found: dict[int, Decimal | None] = {}
    for rows in _by_day(*_days_of(set(visits))):
        for visit, part in parts_back(rows).items():
            before = found.get(visit, ZERO)
            found[visit] = None if part is None or before is None else before + part
    return found


def _days_of(visits: set[int]) -> tuple[QuerySet[Leg], set[tuple[int, date]]]:
    """Return the days on which vehicles drove to these visits, and legs among which all of theirs are."""
    days = set(Leg.objects.filter(visit__in=visits).values_list("vehicle", "date"))
    legs = Leg.objects.filter(vehicle__in={vehicle for vehicle, _ in days}, date__in={day for _, day in days})
    return legs, days


def _by_day(legs: QuerySet[Leg], only: set[tuple[int, date]] | None = None) -> Iterator[list[DayLeg]]:
    """Yield the legs of each vehicle's day in driving order."""
    days: dict[tuple[int, date], list[Leg]] = defaultdict(list)
    for leg in legs.order_by("date", "pk"):
        if only is None or (leg.vehicle_id, leg.date) in only:
            days[leg.vehicle_id, leg.date].append(leg)
    for rows in days.values():
        yield [
            DayLeg(leg.distance, leg.purpose == Leg.Purpose.BUSINESS, leg.visit_id)
            for leg in in_driving_order(rows)
        ]


def _by_visit(legs: QuerySet[Leg], only: set[tuple[int, date]] | None = None) -> BusinessMiles:
    visits, unassigned = defaultdict(lambda: ZERO), ZERO
    for rows in _by_day(legs, only):
        day = visit_miles(rows)
        unassigned += day.unassigned
        for visit, distance in day.visits.items():
            visits[visit] += distance
    return BusinessMiles(dict(visits), unassigned)


def miles_by_year(visits: QuerySet[Visit], today: date, profile: Profile) -> list[YearMiles]:
    """Return this tax year's and last year's miles of done visits, each visit whole."""
    this = tax_year_of(today, profile.country)
    years = {year: tax_year(year, profile.country) for year in (this, this - 1)}
    span = (years[this - 1].begin, years[this].end)
    dates = dict(visits.done().filter(date__range=span).order_by().values_list("pk", "date"))
    found = miles_of(dates)
    rows = []
    for year, period in years.items():
        distances = [distance for visit, distance in found.items() if dates[visit] in period]
        rows.append(YearMiles(year, period.years, len(distances), sum(distances, ZERO)))
    return rows


def visits_of_horse(horse: Horse) -> QuerySet[Visit]:
    """Return the visits with work on a horse."""
    return Visit.objects.filter(pk__in=horse.work.values("visit"))


def visits_of_client(client: Client) -> QuerySet[Visit]:
    """Return the visits with work on a horse in which the client had a share that day."""
    shares = Q(pk__in=[])
    for share in client.shares.all():
        on = Q(work__horse=share.horse_id)
        on &= Q(date__gte=share.valid_from) if share.valid_from else Q()
        on &= Q(date__lte=share.valid_to) if share.valid_to else Q()
        shares |= on
    return Visit.objects.filter(pk__in=Visit.objects.filter(shares).values("pk"))
