"""Odometer readings and legs."""

import uuid as uuids
from datetime import date
from decimal import Decimal

from django.db import transaction

from practice import odometer
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, Reading, Vehicle, Visit

TENTH = Decimal("0.1")


@transaction.atomic
def set_reading(vehicle: Vehicle, on: date, at: str, reading: Decimal | None) -> None:
    """Write down the odometer at a day's `start` or `end`, one decimal; None takes it away.

    Raises RuleBroken for a day closed for good and a reading that does not fit the others.
    """
    Profile.current().check_open(on)
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    if reading is None:
        Reading.objects.filter(vehicle=vehicle, date=on, at=at).delete()
        return
    check_tenths(reading)
    Reading.objects.update_or_create(vehicle=vehicle, date=on, at=at, defaults={"reading": reading})
    check_chain(vehicle)


@transaction.atomic
def log_leg(
    vehicle: Vehicle,
    on: date,
    *,
    purpose: str,
    distance: Decimal | None = None,
    start_odometer: Decimal | None = None,
    end_odometer: Decimal | None = None,
    origin: str = "",
    destination: str = "",
    reason: str = "",
    visit: Visit | None = None,
    uuid: uuids.UUID | None = None,
) -> Leg:
    """Write down one drive; its distance is what its two readings say where both were taken.

    With a `uuid` that is in the book already, that leg is returned and nothing is written. Raises
    RuleBroken for a day closed for good, a visit that is locked, a distance that its readings
    contradict, and a leg that starts before the last one ended.
    """
    if uuid and (known := Leg.objects.filter(uuid=uuid).first()):
        return known
    Profile.current().check_open(on)
    check_leg_free(visit)
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    distance = leg_distance(distance, start_odometer, end_odometer)
    if purpose == Leg.Purpose.BUSINESS and not (reason or visit):
        raise RuleBroken("A business drive needs its reason: a visit, or a word such as 'supplier'.")
    leg = Leg.objects.create(
        uuid=uuid or uuids.uuid4(),
        vehicle=vehicle,
        date=on,
        purpose=purpose,
        distance=distance,
        start_odometer=start_odometer,
        end_odometer=end_odometer,
        origin=origin,
        destination=destination,
        reason=reason,
        visit=visit,
    )
    check_chain(vehicle)
    return leg


@transaction.atomic
def remove_leg(leg: Leg) -> None:
    """Take a leg away again. Raises RuleBroken for a closed day or a visit that is locked."""
    Profile.current().check_open(leg.date)
    check_leg_free(leg.visit)
    leg.delete()


def check_leg_free(visit: Visit | None) -> None:
    """Raise RuleBroken where the travel of the visit is on an invoice."""
    if visit and Visit.objects.select_for_update().filter(pk=visit.pk, locked=True).exists():
        raise RuleBroken("The drive to this visit is on an invoice and stands as it is.")


def leg_distance(distance: Decimal | None, start: Decimal | None, end: Decimal | None) -> Decimal:
    """Return the distance of a leg, one decimal. Raises RuleBroken for what its readings contradict."""
    for number in (distance, start, end):
        if number is not None:
            check_tenths(number)
    if start is not None and end is not None:
        if end < start:
            raise RuleBroken(f"The drive ends at {end}, before it starts at {start}.")
        if distance is not None and distance != end - start:
            raise RuleBroken(f"The readings say {end - start}, not {distance}.")
        return end - start
    if distance is None:
        raise RuleBroken("Type the distance, such as 12.4, or both readings.")
    return distance


def check_tenths(number: Decimal) -> None:
    if number < 0 or number % TENTH:
        raise RuleBroken(f"{number} is not a distance with one decimal, such as 12.4.")


def vehicle_chain(vehicle: Vehicle) -> tuple[list[odometer.Gap], list[odometer.Fault]]:
    """Return what is not logged of a vehicle, and what cannot be."""
    readings = [odometer.Reading(r.pk, r.date, r.at, r.reading) for r in vehicle.readings.all()]
    drives = [
        odometer.Drive(leg.pk, leg.date, leg.pk, leg.distance, leg.start_odometer, leg.end_odometer)
        for leg in vehicle.legs.all()
    ]
    return odometer.chain(readings, drives)


def check_chain(vehicle: Vehicle) -> None:
    """Raise RuleBroken where a point is lower than the readings and legs before it say."""
    _, faults = vehicle_chain(vehicle)
    if faults:
        fault = faults[0]
        raise RuleBroken(
            f"{fault.reading:,.1f} on {fault.date:%B} {fault.date.day} is lower than the book's last,"
            f" {fault.last:,.1f} on {fault.last_date:%B} {fault.last_date.day}."
        )
