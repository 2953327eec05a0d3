"""A day's taken drives, fitted to its two readings whenever either of them changes."""

from datetime import date

from practice.lib.profile import Profile
from practice.models import Leg, Reading, Vehicle
from practice.reports.odometers import drive_of
from practice.rules import odometer
from practice.rules.routing import FittedLegs, TakenLeg, fit_legs


def refit_day(vehicle: Vehicle, on: date) -> None:
    """Fit the estimated legs of a vehicle's day to its two readings; without two they are as they were taken.

    Typed distances and readings stand. Raises RuleBroken where the legs are longer than the readings
    allow. A day on which the odometer was changed is not fitted.
    """
    legs = {leg.pk: leg for leg in vehicle.legs.filter(date=on)}
    if not any(leg.estimated for leg in legs.values()):
        return
    distances = {leg.pk: leg.proposed for leg in legs.values() if leg.estimated}
    readings = dict(vehicle.readings.filter(date=on).values_list("at", "reading"))
    start, end = readings.get(Reading.At.START), readings.get(Reading.At.END)
    is_changed = vehicle.odometer_changes.filter(date=on).exists()
    if start is not None and end is not None and start <= end and not is_changed:
        _, order = odometer.before_morning(map(drive_of, legs.values()), start)
        taken = [taken_leg(legs[drive.key]) for drive in order]
        fitted: FittedLegs = fit_legs(taken, start, end, Profile.current().distance_unit)
        fits = zip(order, fitted.distances, strict=True)
        distances = {drive.key: distance for drive, distance in fits if drive.key in distances}
    moved = [legs[key] for key, distance in distances.items() if legs[key].distance != distance]
    for leg in moved:
        leg.distance = distances[leg.pk]
    Leg.objects.bulk_update(moved, ["distance"])


def taken_leg(leg: Leg) -> TakenLeg:
    """Return a leg as a fit begins with it."""
    if leg.estimated:
        return TakenLeg(leg.proposed, False, leg.start_odometer, leg.end_odometer)
    return TakenLeg(leg.distance, True, leg.start_odometer, leg.end_odometer)
