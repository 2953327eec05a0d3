"""What each vehicle drove in a period: by purpose, what is not logged, and the odometer at both ends."""

from collections import defaultdict
from collections.abc import Container, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import OuterRef, Q, Subquery

from practice.lib.periods import Period
from practice.models import Leg, OdometerChange, Reading, Vehicle
from practice.rules import odometer

ZERO = Decimal(0)


@dataclass(frozen=True)
class VehicleDistances:
    """What one vehicle drove, in the practice's distance unit.

    `business_by_day` holds the days with business distance in order. `gaps` are the jumps of the
    odometer, each on the day of its later point. `is_measured`: two readings tell what is not logged, else
    it is unknown and left out of `total`. `first_odometer` is the last reading before the period, else the
    first in it; `last_odometer` the last in it; None without readings. `first_read`,
    `last_read` are their days.
    """

    vehicle: Vehicle
    business: Decimal
    commuting: Decimal
    personal: Decimal
    gaps: tuple[odometer.Gap, ...]
    first_odometer: Decimal | None
    last_odometer: Decimal | None
    first_read: date | None
    last_read: date | None
    business_by_day: tuple[tuple[date, Decimal], ...]
    is_measured: bool

    @property
    def unlogged(self) -> Decimal:
        """What no leg accounts for, 0 where that is unknown."""
        return sum((gap.distance for gap in self.gaps), ZERO)

    @property
    def is_in_use(self) -> bool:
        """Whether a leg or a reading of the period is its own."""
        return bool(self.total or self.business_by_day or self.last_odometer is not None)

    @property
    def total(self) -> Decimal:
        return self.business + self.commuting + self.personal + self.unlogged


def driven_in(period: Period, also: Container[int] = ()) -> list[VehicleDistances]:
    """Return what was driven in a period by each vehicle with a leg or a reading in it, in order of entry.

    Vehicles whose key is in `also` are among them whatever they drove. Reads the period, and what follows
    each vehicle's last reading before it; always as many queries.
    """
    vehicles = list(_with_last_read(period))
    rows_of = Q(pk__in=[])
    for vehicle in vehicles:
        read = [day for day in (vehicle.last_reading, vehicle.last_leg, vehicle.last_change) if day]
        rows_of |= Q(vehicle=vehicle, date__gte=max(read, default=period.begin), date__lte=period.end)
    readings, legs, changes = defaultdict(list), defaultdict(list), defaultdict(list)
    for vehicle, *row in Reading.objects.filter(rows_of).values_list(
        "vehicle", "pk", "date", "at", "reading"
    ):
        readings[vehicle].append(row)
    for vehicle, *row in (
        Leg.objects.filter(rows_of)
        .order_by("pk")
        .values_list("vehicle", "pk", "date", "distance", "start_odometer", "end_odometer", "purpose")
    ):
        legs[vehicle].append(row)
    for change in OdometerChange.objects.filter(rows_of).order_by("pk"):
        changes[change.vehicle_id].append(change)
    return [
        _driven(vehicle, readings[vehicle.pk], legs[vehicle.pk], changes[vehicle.pk], period)
        for vehicle in vehicles
        if vehicle.pk in also or any(row[1] in period for row in (*readings[vehicle.pk], *legs[vehicle.pk]))
    ]


def _with_last_read(period: Period):
    """Return vehicles with the last days before a period on which the odometer was read or replaced."""
    before = {"vehicle": OuterRef("pk"), "date__lt": period.begin}
    reading = Reading.objects.filter(**before).order_by("-date").values("date")[:1]
    leg = Leg.objects.with_odometer().filter(**before).order_by("-date").values("date")[:1]
    change = OdometerChange.objects.filter(**before).order_by("-date").values("date")[:1]
    return Vehicle.objects.annotate(
        last_reading=Subquery(reading), last_leg=Subquery(leg), last_change=Subquery(change)
    ).order_by("pk")


def _driven(
    vehicle: Vehicle,
    readings: Iterable[tuple],
    legs: Iterable[tuple],
    changes: Iterable[OdometerChange],
    period: Period,
) -> VehicleDistances:
    marks = [odometer.OdometerReading(*row) for row in readings]
    drives = [odometer.OdometerLeg(key, day, key, far, start, end) for key, day, far, start, end, _ in legs]
    swaps = [odometer.Change(row.pk, row.date, row.last, row.first) for row in changes]
    course = odometer.follow(marks, drives, swaps)
    before = [point for point in course.points if point[0] < period.begin]
    within = [point for point in course.points if point[0] in period]
    first_read, first = before[-1] if before else within[0] if within else (None, None)
    last_read, last = within[-1] if within else (None, None)
    by_purpose: dict[str, Decimal] = defaultdict(Decimal)
    by_day: dict[date, Decimal] = defaultdict(Decimal)
    for _, day, distance, _, _, purpose in legs:
        if day in period:
            by_purpose[purpose] += distance
            if purpose == Leg.Purpose.BUSINESS:
                by_day[day] += distance
    return VehicleDistances(
        vehicle=vehicle,
        business=by_purpose[Leg.Purpose.BUSINESS],
        commuting=by_purpose[Leg.Purpose.COMMUTING],
        personal=by_purpose[Leg.Purpose.PERSONAL],
        gaps=tuple(gap for gap in course.gaps if gap.date in period),
        first_odometer=first,
        last_odometer=last,
        first_read=first_read,
        last_read=last_read,
        business_by_day=tuple(sorted(by_day.items())),
        is_measured=any(day in period for day in course.measured),
    )
