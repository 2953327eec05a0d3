"""Odometer readings and legs."""

import uuid as uuids
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from practice.actions.fitting import refit_day
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, LegChange, Reading, Vehicle, Visit
from practice.models.road import DRIVE_FIELDS
from practice.reports.odometers import drive_of, vehicle_chain
from practice.rules.commuting import not_principal
from practice.rules.odometer import OdometerLeg, driving_order
from practice.rules.routing import is_home

TENTH = Decimal("0.1")


def set_reading(
    vehicle: Vehicle, on: date, at: str, reading: Decimal | None, written: datetime | None = None
) -> None:
    """Write down the odometer at a day's `start` or `end`, as `set_readings` does."""
    set_readings(vehicle, on, {at: reading}, written)


@transaction.atomic
def set_readings(
    vehicle: Vehicle, on: date, readings: Mapping[str, Decimal | None], written: datetime | None = None
) -> None:
    """Write down the odometer at a day's `start` and `end`, one decimal; None deletes one.

    The day's estimated legs are fitted again. `written` is when it was entered. Raises RuleBroken for a day
    closed for good, readings that do not fit the others, and legs longer than they allow.
    """
    Profile.current().check_open(on)
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    known = {row.at: row for row in vehicle.readings.filter(date=on)}
    for at, reading in readings.items():
        row = known.get(at)
        if reading is None:
            Reading.objects.filter(vehicle=vehicle, date=on, at=at).delete()
            continue
        check_tenths(reading)
        if row is None:
            Reading.objects.create(vehicle=vehicle, date=on, at=at, reading=reading, recorded_at=written)
        elif row.reading != reading:
            row.reading, row.changed_at = reading, written
            row.save(update_fields=["reading", "changed_at"])
    settle_day(vehicle, on)


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
    estimated: bool = False,
    uuid: uuids.UUID | None = None,
    written: datetime | None = None,
) -> Leg:
    """Write down one drive; its distance is what its two readings say where both were taken.

    `estimated`: the distance is an accepted proposal, to be fitted to the day's readings. With a `uuid`
    that is in the book already, that leg is returned and nothing is written. `written` is when it was
    entered. Raises RuleBroken for a day closed for good, a distance that its readings contradict,
    a reason that is missing, and a leg that starts before the last one ended.
    """
    if uuid and (known := Leg.objects.filter(uuid=uuid).first()):
        return known
    profile = Profile.current()
    profile.check_open(on)
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    leg = Leg(
        uuid=uuid or uuids.uuid4(),
        vehicle=vehicle,
        date=on,
        purpose=purpose,
        start_odometer=start_odometer,
        end_odometer=end_odometer,
        distance=leg_distance(distance, start_odometer, end_odometer),
        origin=origin,
        destination=destination,
        reason=reason,
        visit=visit,
        recorded_at=written,
    )
    leg.proposed = leg.distance if estimated and None in (start_odometer, end_odometer) else None
    check_reason(leg, profile)
    leg.save()
    settle_day(vehicle, on)
    leg.refresh_from_db()
    return leg


@transaction.atomic
def change_leg(leg: Leg, values: Mapping[str, object], *, written: datetime) -> Leg:
    """Change a leg and keep what it was before in its history. A new distance, or two readings, are final.

    `values` are those of `log_leg` by name. Raises RuleBroken as there; then nothing is changed.
    """
    profile = Profile.current()
    Vehicle.objects.select_for_update().get(pk=leg.vehicle_id)
    leg = Leg.objects.select_for_update().get(pk=leg.pk)
    profile.check_open(leg.date)
    before = {name: getattr(leg, name) for name in DRIVE_FIELDS}
    for name, value in values.items():
        setattr(leg, name, value)
    read = [(getattr(leg, name), before[name]) for name in ("start_odometer", "end_odometer")]
    stands = leg.distance == before["distance"] and any(now != then for now, then in read)
    typed = None if stands and all(now is not None for now, _ in read) else leg.distance
    leg.distance = leg_distance(typed, leg.start_odometer, leg.end_odometer)
    if leg.distance != before["distance"] or None not in (leg.start_odometer, leg.end_odometer):
        leg.proposed = None
    if {name: getattr(leg, name) for name in DRIVE_FIELDS} == before:
        return leg
    check_reason(leg, profile)
    leg.changed_at = written
    keep_history(leg, before, LegChange.What.CHANGED, written)
    leg.save()
    settle_day(leg.vehicle, leg.date)
    leg.refresh_from_db()
    return leg


@transaction.atomic
def remove_leg(leg: Leg, *, written: datetime) -> None:
    """Delete a leg; its history keeps what it was. Raises RuleBroken for a day closed for good."""
    Profile.current().check_open(leg.date)
    vehicle = Vehicle.objects.select_for_update().get(pk=leg.vehicle_id)
    keep_history(leg, {name: getattr(leg, name) for name in DRIVE_FIELDS}, LegChange.What.REMOVED, written)
    leg.delete()
    settle_day(vehicle, leg.date)


def keep_history(leg: Leg, values: dict, what: str, at: datetime) -> None:
    LegChange.objects.create(leg=leg.uuid, what=what, at=at, recorded_at=leg.recorded_at, **values)


def settle_day(vehicle: Vehicle, on: date) -> None:
    """Fit a day's estimated legs again and check that the odometer still runs forward."""
    refit_day(vehicle, on)
    check_chain(vehicle, on)


def check_reason(leg: Leg, profile: Profile) -> None:
    """Raise RuleBroken where a leg's purpose needs a reason and none is given.

    Business needs one, or a visit. Where the home is not the principal place of business, a drive from
    or to it, and the first of a day, is commuting unless a reason says why not. The last of a day is told
    in the log, as another may follow it; a proposal knows by itself where in the day it stands.
    """
    if leg.reason:
        return
    if leg.purpose == Leg.Purpose.BUSINESS and not leg.visit_id:
        raise RuleBroken(
            "drive_without_reason", "A business drive needs a stop, or a reason such as 'supplier'."
        )
    if profile.home_is_principal_place_of_business or leg.purpose == Leg.Purpose.COMMUTING:
        return
    at_home = is_home(leg.origin) or is_home(leg.destination)
    if at_home or (leg.purpose == Leg.Purpose.BUSINESS and leg.proposed is None and is_first(leg)):
        raise RuleBroken("home_drive_without_reason", not_principal(profile.home_country))


def is_first(leg: Leg) -> bool:
    """Whether a leg, saved or not, is the first that its vehicle drives that day."""
    others = leg.vehicle.legs.filter(date=leg.date).exclude(pk=leg.pk)
    drives = [drive_of(row) for row in others]
    entry = leg.pk or max((drive.entry for drive in drives), default=0) + 1
    own = OdometerLeg("own", leg.date, entry, leg.distance, leg.start_odometer, leg.end_odometer)
    return driving_order([*drives, own])[0] is own


def leg_distance(distance: Decimal | None, start: Decimal | None, end: Decimal | None) -> Decimal:
    """Return the distance of a leg, one decimal. Raises RuleBroken for what its readings contradict."""
    for number in (distance, start, end):
        if number is not None:
            check_tenths(number)
    if start is not None and end is not None:
        if end < start:
            raise RuleBroken(
                "readings_backwards",
                f"The drive ends at {end}, but it starts at {start}. Correct one of them.",
            )
        if distance is not None and distance != end - start:
            raise RuleBroken(
                "distance_contradicts_readings",
                f"The readings are {end - start} apart, not {distance}. Correct one of them.",
            )
        return end - start
    if distance is None:
        raise RuleBroken("no_distance", "Enter the distance, such as 12.4, or both readings.")
    return distance


def check_tenths(number: Decimal) -> None:
    if number < 0 or number % TENTH:
        raise RuleBroken("not_tenths", f"{number} is not a distance with at most one decimal, such as 12.4.")


def check_chain(vehicle: Vehicle, on: date) -> None:
    """Raise RuleBroken where a point near a day is lower than the readings and legs before it say."""
    _, faults = vehicle_chain(vehicle, on, on)
    if faults:
        fault = faults[0]
        raise RuleBroken(
            "odometer_backwards",
            f"{fault.reading:,.1f} on {fault.date:%B} {fault.date.day} is lower than the last reading,"
            f" {fault.last:,.1f} on {fault.last_date:%B} {fault.last_date.day}.",
        )
