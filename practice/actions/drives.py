"""Logging what was driven: accepting proposed drives, and saying what a jump of the odometer was."""

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from practice.actions.road import log_leg
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, Reading, Vehicle
from practice.reports.drives import proposals_of
from practice.reports.odometers import vehicle_chain
from practice.rules.odometer import Gap

ALL = "all"


@transaction.atomic
def take_drives(vehicle: Vehicle, on: date, key: str = ALL, *, written: datetime) -> list[Leg]:
    """Log the proposed drive with this key, or all whose distance is known, as estimated.

    Raises RuleBroken where none of them is proposed (any more), and as `log_leg` does.
    """
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    taken = [
        row
        for row in proposals_of(vehicle, on, Profile.current())
        if row.distance is not None and key in (ALL, row.key)
    ]
    if not taken:
        raise RuleBroken("no_proposed_drive", "There is nothing to add: these drives are logged already.")
    return [
        log_leg(
            vehicle,
            on,
            purpose=row.purpose,
            distance=row.distance,
            origin=row.origin,
            destination=row.destination,
            reason=row.reason,
            visit=row.visit,
            estimated=True,
            written=written,
        )
        for row in taken
    ]


def find_gap(vehicle: Vehicle, on: date, end: Decimal) -> Gap:
    """Return what is not logged before the point of the odometer on this day.

    Raises RuleBroken where there is none (any more).
    """
    gaps, _ = vehicle_chain(vehicle, on, on)
    gap = next((gap for gap in gaps if gap.date == on and gap.end == end), None)
    if gap is None:
        raise RuleBroken("no_gap", "Nothing is missing there: every mile is logged.")
    return gap


@transaction.atomic
def fill_gap(
    vehicle: Vehicle,
    on: date,
    end: Decimal,
    *,
    purpose: str,
    written: datetime,
    distance: Decimal | None = None,
    origin: str = "",
    destination: str = "",
    reason: str = "",
) -> Leg:
    """Log what a jump of the odometer before the point `end` was: all of it, or `distance` of it.

    Raises RuleBroken where nothing is missing there, for more than is missing, and as `log_leg` does.
    """
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    gap = find_gap(vehicle, on, end)
    distance = gap.distance if distance is None else distance
    if not 0 < distance <= gap.distance:
        raise RuleBroken(
            "more_than_gap", f"Enter at most {gap.distance:,.1f}: that is all that is missing there."
        )
    where = {"distance": distance} if _is_loose(vehicle, gap) else _readings(gap, distance)
    about = {"purpose": purpose, "origin": origin, "destination": destination, "reason": reason}
    return log_leg(vehicle, on, **about, **where, written=written)


def _is_loose(vehicle: Vehicle, gap: Gap) -> bool:
    """Whether it is unknown where among the day's drives a gap lies: none has readings of its own."""
    evening = vehicle.readings.filter(date=gap.date, at=Reading.At.END, reading=gap.end).exists()
    read = vehicle.legs.with_odometer().filter(date=gap.date).exists()
    return not gap.bare and evening and not read


def _readings(gap: Gap, distance: Decimal) -> dict[str, Decimal]:
    """Return the readings between which a drive fills a gap: from its begin, or up to its end."""
    if gap.bare:
        return {"start_odometer": gap.begin, "end_odometer": gap.begin + distance}
    return {"start_odometer": gap.end - distance, "end_odometer": gap.end}
