"""Vehicles and odometers that are replaced."""

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from practice.actions.road import check_tenths, set_reading, settle_day
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import OdometerChange, Reading, Vehicle, Visit


@transaction.atomic
def add_vehicle(name: str, on: date, reading: Decimal | None, written: datetime) -> Vehicle:
    """Add a vehicle with what its odometer says on the morning of a day; None: it was not read.

    Raises RuleBroken as `set_reading` does.
    """
    vehicle = Vehicle.objects.create(name=name)
    if reading is not None:
        set_reading(vehicle, on, Reading.At.START, reading, written)
    return vehicle


@transaction.atomic
def replace_vehicle(
    old: Vehicle, on: date, *, last: Decimal, name: str, first: Decimal, written: datetime
) -> Vehicle:
    """Archive a vehicle with its last reading, that day's evening, and begin with another.

    The new one begins that day with its first reading as the morning's. It takes over the old one's stock
    and the stops planned from then on. Raises RuleBroken for an archived vehicle, and as `set_reading`
    does.
    """
    old = Vehicle.objects.select_for_update().get(pk=old.pk)
    if old.archived:
        raise RuleBroken("vehicle_archived", f"{old} is archived already. Choose a vehicle that is in use.")
    set_reading(old, on, Reading.At.END, last, written)
    location, old.location, old.archived = old.location, None, True
    old.save(update_fields=["location", "archived"])
    new = Vehicle.objects.create(name=name, placed_in_service=on, location=location)
    set_reading(new, on, Reading.At.START, first, written)
    Visit.objects.planned().filter(vehicle=old, date__gte=on).update(vehicle=new)
    return new


@transaction.atomic
def change_odometer(vehicle: Vehicle, on: date, last: Decimal, first: Decimal) -> OdometerChange:
    """Record that a vehicle got a new odometer: the old one's last reading, the new one's first.

    Raises RuleBroken for a day closed for good, a second change on a day, and readings that do not fit.
    """
    Profile.current().check_open(on)
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    check_tenths(last)
    check_tenths(first)
    if vehicle.odometer_changes.filter(date=on).exists():
        raise RuleBroken(
            "odometer_changed_that_day",
            "The odometer was changed on that day already. Undo that change first.",
        )
    change = OdometerChange.objects.create(vehicle=vehicle, date=on, last=last, first=first)
    settle_day(vehicle, on)
    return change


@transaction.atomic
def undo_odometer_change(change: OdometerChange) -> None:
    """Undo a change of the odometer.

    Raises RuleBroken for a day closed for good, and where the readings then run backwards.
    """
    Profile.current().check_open(change.date)
    vehicle = Vehicle.objects.select_for_update().get(pk=change.vehicle_id)
    change.delete()
    settle_day(vehicle, change.date)
