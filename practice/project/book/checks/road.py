"""Rules of the road: odometers, estimates, and one UUID a leg."""

from collections import defaultdict

from practice.lib.profile import Profile
from practice.models import Leg
from practice.models.road import Purpose
from practice.project.book.checks.common import Checks
from practice.project.book.reader import FolderRow, Problem
from practice.reports.odometers import drive_of, in_driving_order
from practice.rules import odometer
from practice.rules.commuting import without_reason

# Rows of a folder are entered after what the book holds.
LATER = 10**9


def check_road(checks: Checks) -> None:
    """Complain about odometers that run backwards, estimates that have readings, and legs given twice."""
    _estimates(checks)
    _identities(checks)
    readings, drives, changes, new = (defaultdict(list) for _ in range(4))
    for row in checks.new("readings.csv"):
        if row["date"] and row["at"] and row["reading"] is not None:
            readings[row["vehicle"]].append(
                odometer.OdometerReading(row, row["date"], row["at"], row["reading"])
            )
            new[row["vehicle"]].append(row)
    for order, row in enumerate(checks.new("legs.csv"), start=LATER):
        if row["date"] and row["distance"] is not None:
            ends = (row["start_odometer"], row["end_odometer"])
            drives[row["vehicle"]].append(
                odometer.OdometerLeg(row, row["date"], order, row["distance"], *ends)
            )
            new[row["vehicle"]].append(row)
    for row in checks.new("odometers.csv"):
        if row["date"] and None not in (row["last"], row["first"]):
            changes[row["vehicle"]].append(odometer.Change(row, row["date"], row["last"], row["first"]))
            new[row["vehicle"]].append(row)
    for vehicle, rows in new.items():
        known = checks.lookup.in_book("vehicles.csv", vehicle)
        if known is not None:
            readings[vehicle] += [
                odometer.OdometerReading(r.pk, r.date, r.at, r.reading) for r in known.readings.all()
            ]
            drives[vehicle] += [drive_of(leg) for leg in known.legs.all()]
            changes[vehicle] += [
                odometer.Change(c.pk, c.date, c.last, c.first) for c in known.odometer_changes.all()
            ]
        for fault in odometer.chain(readings[vehicle], drives[vehicle], changes[vehicle])[1]:
            _tell(checks, fault, rows)


def road_warnings(rows: list[FolderRow], profile: Profile) -> list[Problem]:
    """Return a warning for each vehicle's day with new legs that need a reason and have none.

    The legs are in the book already: what an import says stands.
    """
    if profile.home_is_principal_place_of_business:
        return []
    by_day = defaultdict(list)
    for row in rows:
        by_day[row["vehicle"], row["date"]].append(row)
    written = defaultdict(list)
    for leg in Leg.objects.select_related("vehicle").filter(date__in={day for _, day in by_day}):
        written[leg.vehicle.key, leg.date].append(leg)
    return [
        _without_reason(number, own, profile)
        for day, own in by_day.items()
        if (number := len(without_reason(in_driving_order(written[day]))))
    ]


def _without_reason(number: int, rows: list[FolderRow], profile: Profile) -> Problem:
    drives = "1 business drive has" if number == 1 else f"{number} business drives have"
    blank = [row for row in rows if row["purpose"] == Purpose.BUSINESS and not row["reason"]]
    row = (blank or rows)[0]
    message = (
        f"{row['date']}: {drives} no reason, but home is not the principal place of business: a drive from or"
        " to it, and the first and the last of a day, are commuting unless a reason says why not"
        f"{profile.home_country.home_cited}. They are imported as they are; a licensed tax preparer decides"
    )
    return Problem(row.file.name, row.line, "reason", message)


def _tell(checks: Checks, fault: odometer.Fault, rows: list[FolderRow]) -> None:
    earlier = [row for row in rows if row["date"] <= fault.date] or rows
    row = fault.key if isinstance(fault.key, FolderRow) else earlier[-1]
    column = {"readings.csv": "reading", "odometers.csv": "last"}.get(row.file.name, "start_odometer")
    message = (
        f"{fault.reading:f} on {fault.date} is lower than {fault.last:f}, the odometer"
        f" after the readings and legs up to {fault.last_date}"
    )
    checks.complain(row, column, message)


def _estimates(checks: Checks) -> None:
    for name in ("legs.csv", "leg_changes.csv"):
        for row in checks.new(name):
            read = None not in (row["start_odometer"], row["end_odometer"])
            if row["proposed"] is not None and read:
                checks.complain(row, "proposed", "must be blank if both odometer readings are given")


def _identities(checks: Checks) -> None:
    """A UUID is of one leg only."""
    seen = set()
    for row in checks.new("legs.csv"):
        if row["uuid"] is None:
            continue
        if row["uuid"] in seen:
            checks.complain(row, "uuid", f'"{row["uuid"]}" appears twice in legs.csv')
        elif Leg.objects.filter(uuid=row["uuid"]).exists():
            checks.complain(row, "uuid", f'"{row["uuid"]}" is a different leg in the book')
        seen.add(row["uuid"])
