"""The log of one vehicle's month, as its page shows it, with what is missing."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Leg, LegChange, OdometerChange, Reading, Vehicle, Visit
from practice.reports.drives import visits_without_leg
from practice.reports.mileage_log import NOT_LOGGED, PURPOSES, LogTotal, legs_for_log, local_day, reason_of
from practice.reports.odometers import in_driving_order, vehicle_chain
from practice.rules.odometer import Gap
from practice.rules.routing import is_home

ZERO = Decimal(0)
# What is missing: a jump, stops that no drive names, a drive to a stop that it does not name, a reason.
JUMP, NO_DRIVE, NO_VISIT, NO_REASON = "jump", "no_drive", "no_visit", "no_reason"


@dataclass
class LogEntry:
    """A drive with its reason and the days on which it was written down and last changed."""

    leg: Leg
    reason: str
    made_on: date | None
    changed_on: date | None


@dataclass
class LogDay:
    """A day of the log. `made_on`: the day on which all of its drives were written down, where it is one."""

    date: date
    entries: list[LogEntry] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    readings: dict[str, Reading] = field(default_factory=dict)
    change: OdometerChange | None = None

    @property
    def distance(self) -> Decimal:
        return sum((entry.leg.distance for entry in self.entries), ZERO)

    @property
    def made_on(self) -> date | None:
        days = {entry.made_on for entry in self.entries}
        return days.pop() if len(days) == 1 else None

    @property
    def changed_readings(self) -> list[tuple[Reading, date]]:
        """The readings that were changed, and when."""
        return [(row, local_day(row.changed_at)) for row in self.readings.values() if row.changed_at]


@dataclass(frozen=True)
class MissingReading:
    """What is missing on a day, with what mends it: its jump, its visits or its leg."""

    kind: str
    date: date
    gap: Gap | None = None
    visits: tuple[Visit, ...] = ()
    leg: Leg | None = None


@dataclass(frozen=True)
class MonthLog:
    """One vehicle's month, latest day first; `removed` is what was taken out again."""

    vehicle: Vehicle
    days: list[LogDay]
    total: LogTotal
    missing: list[MissingReading]
    removed: list[LegChange]

    @property
    def is_empty(self) -> bool:
        return not (self.days or self.missing or self.removed)


def month_log(vehicle: Vehicle, month: Period, profile: Profile) -> MonthLog:
    """Return what is written down of a vehicle in a month, or any other period."""
    span = (month.begin, month.end)
    days: dict[date, LogDay] = {}

    def at(day: date) -> LogDay:
        return days.setdefault(day, LogDay(day))

    legs = defaultdict(list)
    for leg in legs_for_log().filter(vehicle=vehicle, date__range=span):
        legs[leg.date].append(leg)
    for day, rows in legs.items():
        at(day).entries = [
            LogEntry(leg, reason_of(leg), local_day(leg.recorded_at), local_day(leg.changed_at))
            for leg in in_driving_order(rows)
        ]
    for row in vehicle.readings.filter(date__range=span):
        at(row.date).readings[row.at] = row
    for change in vehicle.odometer_changes.filter(date__range=span):
        at(change.date).change = change
    gaps, _ = vehicle_chain(vehicle, *span)
    for gap in gaps:
        at(gap.date).gaps.append(gap)
    all_legs = [leg for rows in legs.values() for leg in rows]
    sums = {
        purpose: sum((leg.distance for leg in all_legs if leg.purpose == purpose), ZERO)
        for purpose in PURPOSES
    }
    sums[NOT_LOGGED] = sum((gap.distance for gap in gaps), ZERO)
    removed = vehicle.legchanges.filter(date__range=span, what=LegChange.What.REMOVED)
    return MonthLog(
        vehicle,
        [days[day] for day in sorted(days, reverse=True)],
        LogTotal(vehicle, sums),
        _missing(gaps, all_legs, visits_without_leg(vehicle, *span), profile),
        list(removed.select_related("visit__place").order_by("-at", "-pk")),
    )


def _missing(
    gaps: list[Gap], legs: list[Leg], without: dict[date, list[Visit]], profile: Profile
) -> list[MissingReading]:
    found = [MissingReading(JUMP, gap.date, gap=gap) for gap in gaps]
    found += [MissingReading(NO_DRIVE, day, visits=tuple(visits)) for day, visits in without.items()]
    for leg in legs:
        reached = {visit.place.name.casefold() for visit in without.get(leg.date, ())}
        if leg.visit_id is None and leg.destination.strip().casefold() in reached:
            found.append(MissingReading(NO_VISIT, leg.date, leg=leg))
        elif _lacks_reason(leg, profile):
            found.append(MissingReading(NO_REASON, leg.date, leg=leg))
    return sorted(found, key=lambda row: row.date, reverse=True)


def _lacks_reason(leg: Leg, profile: Profile) -> bool:
    """Whether a business drive that an import brought has no reason where it needs one."""
    if leg.purpose != Leg.Purpose.BUSINESS or leg.reason:
        return False
    at_home = is_home(leg.origin) or is_home(leg.destination)
    return leg.visit_id is None or (at_home and not profile.home_is_principal_place_of_business)
