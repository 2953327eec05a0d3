"""The odometers of vehicles as the book has them: what is not logged, and what cannot be."""

from datetime import date
from decimal import Decimal

from django.db.models import Max, Min, Q

from practice.models import Leg, Vehicle
from practice.rules import odometer


def drive_of(leg: Leg) -> odometer.OdometerLeg:
    """Return a leg as a plain drive."""
    return odometer.OdometerLeg(leg.pk, leg.date, leg.pk, leg.distance, leg.start_odometer, leg.end_odometer)


def in_driving_order(legs: list[Leg]) -> list[Leg]:
    """Return the legs of one vehicle's day in the order in which they were driven."""
    by_key = {leg.pk: leg for leg in legs}
    return [by_key[drive.key] for drive in odometer.driving_order([drive_of(leg) for leg in legs])]


def vehicle_chain(
    vehicle: Vehicle, begin: date | None = None, end: date | None = None
) -> tuple[list[odometer.Gap], list[odometer.Fault]]:
    """Return what is not logged of a vehicle, and what cannot be; with `begin` and `end` on those days only.

    Then the faults are those from the last day with a point before them to the first one after.
    """
    window = Q()
    if begin:
        window &= Q(date__gte=_day_before(vehicle, begin) or begin)
    if end:
        after = _nearest(vehicle, Min, date__gt=end)
        window &= Q(date__lte=after) if after else Q()
    gaps, faults = odometer.chain(
        [odometer.OdometerReading(r.pk, r.date, r.at, r.reading) for r in vehicle.readings.filter(window)],
        [drive_of(leg) for leg in vehicle.legs.filter(window)],
        [odometer.Change(c.pk, c.date, c.last, c.first) for c in vehicle.odometer_changes.filter(window)],
    )
    return [gap for gap in gaps if (begin or gap.date) <= gap.date <= (end or gap.date)], faults


def last_odometer(vehicle: Vehicle, before: date) -> Decimal | None:
    """Return the odometer as it was last known before a day; None where it never was."""
    day = _nearest(vehicle, Max, date__lt=before)
    if day is None:
        return None
    course = odometer.follow(
        [odometer.OdometerReading(r.pk, r.date, r.at, r.reading) for r in vehicle.readings.filter(date=day)],
        [drive_of(leg) for leg in vehicle.legs.filter(date=day)],
        [odometer.Change(c.pk, c.date, c.last, c.first) for c in vehicle.odometer_changes.filter(date=day)],
    )
    return course.points[-1][1]


def known_readings(vehicle: Vehicle, on: date, today: date) -> dict[str, Decimal]:
    """Return the odometer of a day by its `start` and `end`; no morning yet: the last evening is proposed.

    Nothing is proposed for a day ahead, beside drives with readings of their own, or above the evening.
    """
    readings = dict(vehicle.readings.filter(date=on).values_list("at", "reading"))
    if "start" in readings or on > today or vehicle.legs.with_odometer().filter(date=on).exists():
        return readings
    last = last_odometer(vehicle, on)
    fits = last is not None and last <= readings.get("end", last)
    return {"start": last} | readings if fits else readings


def _day_before(vehicle: Vehicle, day: date) -> date | None:
    """Return the last day before with a point of the odometer, and no change of it."""
    before = _nearest(vehicle, Max, date__lt=day)
    while before and vehicle.odometer_changes.filter(date=before).exists():
        before = _nearest(vehicle, Max, date__lt=before)
    return before


def _nearest(vehicle: Vehicle, choose: type[Max] | type[Min], **days) -> date | None:
    rows = (vehicle.readings, vehicle.legs.with_odometer(), vehicle.odometer_changes)
    found = [row.filter(**days).aggregate(day=choose("date"))["day"] for row in rows]
    found = [day for day in found if day]
    return (max(found) if choose is Max else min(found)) if found else None
