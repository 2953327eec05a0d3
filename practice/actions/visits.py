"""Visits: plan, move, cancel, complete, reopen, lock, unlock."""

import uuid as uuids
from collections.abc import Collection
from datetime import date, time

from django.db import transaction
from django.db.models import Max

from practice.actions.materials import give_back_materials, take_materials
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Horse, Place, Vehicle, Visit


@transaction.atomic
def plan_visit(
    place: Place,
    on: date,
    *,
    vehicle: Vehicle | None = None,
    arrive: time | None = None,
    note: str = "",
    uuid: uuids.UUID | None = None,
) -> Visit:
    """Plan a call at a place, as the last stop of that day's round.

    With a `uuid` that is in the book already, that visit is returned and nothing is written.
    Raises RuleBroken for a day that is closed for good.
    """
    if uuid and (known := Visit.objects.filter(uuid=uuid).first()):
        return known
    Profile.current().check_open(on)
    return Visit.objects.create(
        uuid=uuid or uuids.uuid4(),
        place=place,
        date=on,
        vehicle=vehicle,
        arrive=arrive,
        note=note,
        position=next_position(on),
    )


@transaction.atomic
def plan_for_horse(
    horse: Horse, on: date, vehicle: Vehicle | None = None, uuid: uuids.UUID | None = None
) -> Visit:
    """Plan a call for a horse where it stands; that day is its next call agreed from then on.

    A stop that is planned there on that day already is the one. Raises RuleBroken("horse_has_no_place"), and
    for a day that is closed for good.
    """
    horse = Horse.objects.select_for_update(of=["self"]).select_related("place").get(pk=horse.pk)
    if horse.place is None:
        raise RuleBroken("horse_has_no_place", f"Say where {horse} is first: choose its place.")
    visit = Visit.objects.planned().filter(place=horse.place, date=on).order_by("pk").first()
    visit = visit or plan_visit(horse.place, on, vehicle=vehicle, uuid=uuid)
    horse.next_call = on
    horse.save(update_fields=["next_call"])
    return visit


def only_vehicle() -> Vehicle | None:
    """Return the practice's vehicle where it has just one in use."""
    vehicles = list(Vehicle.objects.filter(archived=False).order_by("pk")[:2])
    return vehicles[0] if len(vehicles) == 1 else None


def next_position(on: date) -> int:
    return (Visit.objects.filter(date=on).aggregate(last=Max("position"))["last"] or 0) + 1


def locked_visit(visit: Visit) -> Visit:
    """Fetch the visit again with a row lock."""
    return Visit.objects.select_for_update(of=["self"]).select_related("place", "vehicle").get(pk=visit.pk)


def check_not_fixed(visit: Visit) -> None:
    """Raise RuleBroken for a visit that is invoiced, was billed before the book, or lies on a closed day."""
    if visit.locked:
        raise RuleBroken(
            "visit_locked",
            "This visit is already invoiced, so its day, work and prices stay as they are."
            " To correct it, credit its invoice first.",
        )
    if visit.billed:
        raise RuleBroken(
            "visit_billed", "This visit was billed before this book began, so it stays as it is."
        )
    Profile.current().check_open(visit.date)


@transaction.atomic
def move_visit(visit: Visit, on: date, vehicle: Vehicle | None) -> Visit:
    """Move a planned visit to another day or vehicle, as the last stop there.

    Raises RuleBroken for a visit that is not planned, and for days closed for good.
    """
    visit = locked_visit(visit)
    if visit.status != Visit.Status.PLANNED:
        raise RuleBroken("visit_not_planned", "Only a planned visit can be moved. Reopen it first.")
    check_not_fixed(visit)
    Profile.current().check_open(on)
    if on != visit.date:
        visit.position = next_position(on)
    visit.date, visit.vehicle = on, vehicle
    visit.save(update_fields=["date", "vehicle", "position"])
    return visit


@transaction.atomic
def reorder_visit(visit: Visit, step: int) -> Visit:
    """Move a visit one place earlier (-1) or later (+1) in its day's driving order."""
    visit = locked_visit(visit)
    stops = list(Visit.objects.filter(date=visit.date).in_driving_order())
    here = stops.index(visit)
    there = min(max(here + step, 0), len(stops) - 1)
    stops.insert(there, stops.pop(here))
    for position, stop in enumerate(stops, start=1):
        stop.position = position
    Visit.objects.bulk_update(stops, ["position"])
    return visit


@transaction.atomic
def complete_visit(visit: Visit, *, arrive: time | None = None, leave: time | None = None) -> Visit:
    """Mark a planned visit as done and take its materials out of stock, below zero if need be.

    Raises RuleBroken when the visit is not planned or its day is closed for good.
    """
    visit = locked_visit(visit)
    if visit.status == Visit.Status.DONE:
        return visit
    if visit.status != Visit.Status.PLANNED:
        raise RuleBroken("visit_cancelled", "This visit is canceled. Reopen it first.")
    check_not_fixed(visit)
    visit.status = Visit.Status.DONE
    visit.arrive = arrive or visit.arrive
    if leave and not (visit.came and leave < visit.came):
        visit.leave = leave
    visit.save(update_fields=["status", "arrive", "leave"])
    take_materials(visit)
    return visit


@transaction.atomic
def reopen_visit(visit: Visit) -> Visit:
    """Make a done or cancelled visit a planned one again; its facts of stock are reversed by new ones.

    Raises RuleBroken when it is invoiced, was billed before, or its day is closed for good.
    """
    visit = locked_visit(visit)
    check_not_fixed(visit)
    give_back_materials(visit)
    visit.status = Visit.Status.PLANNED
    visit.save(update_fields=["status"])
    return visit


@transaction.atomic
def cancel_visit(visit: Visit) -> Visit:
    """Cancel a planned or done visit; what it took from stock is reversed. Raises RuleBroken as above."""
    visit = locked_visit(visit)
    check_not_fixed(visit)
    give_back_materials(visit)
    visit.status = Visit.Status.CANCELLED
    visit.save(update_fields=["status"])
    return visit


def lock_visits(visits: Collection[Visit]) -> None:
    """Lock what is billed of visits, all at once: price, quantity, shares, travel, status."""
    Visit.objects.filter(pk__in=[visit.pk for visit in visits]).update(locked=True)
    for visit in visits:
        visit.locked = True


def unlock_visit(visit: Visit) -> None:
    """Let what was billed of a visit be corrected, because all of it was credited."""
    Visit.objects.filter(pk=visit.pk).update(locked=False)
    visit.locked = False
