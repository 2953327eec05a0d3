"""The chain of a vehicle's odometer: pure, on plain values. Distances in the practice's unit."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

ZERO = Decimal(0)
START, END = "start", "end"


@dataclass(frozen=True)
class OdometerReading:
    """The odometer at the day's start or end."""

    key: Hashable
    date: date
    at: str
    reading: Decimal


@dataclass(frozen=True)
class OdometerLeg:
    """A leg of one vehicle. `entry` is the order of entry; odometer readings where they were taken."""

    key: Hashable
    date: date
    entry: int
    distance: Decimal
    start: Decimal | None = None
    end: Decimal | None = None


@dataclass(frozen=True)
class Change:
    """Another odometer: the last reading of the old one, and what the new one began with."""

    key: Hashable
    date: date
    last: Decimal
    first: Decimal


@dataclass(frozen=True)
class Gap:
    """Distance that no leg accounts for, before the point on this day: not logged, never claimed.

    `begin` is the odometer where it begins (the last point and the legs without readings since),
    `end` the point that tells of it; `bare`: no leg lies between its two points.
    """

    date: date
    distance: Decimal
    begin: Decimal = field(default=ZERO, compare=False)
    end: Decimal = field(default=ZERO, compare=False)
    begin_date: date | None = field(default=None, compare=False)
    bare: bool = field(default=True, compare=False)


@dataclass(frozen=True)
class Fault:
    """A point lower than what came before it. `last` is the odometer as the book had it."""

    key: Hashable
    date: date
    reading: Decimal
    last: Decimal
    last_date: date


def chain(
    readings: Iterable[OdometerReading], drives: Iterable[OdometerLeg], changes: Iterable[Change] = ()
) -> tuple[list[Gap], list[Fault]]:
    """Return what is not logged and what cannot be, of one vehicle.

    Legs stand in order of date, start reading, entry; a leg without readings stands after the one
    entered before it that day. Not logged = next point − last point − the legs without readings
    between them; below zero is a fault. Where the odometer was changed, what fits on the old one that
    day stands before the change, the rest after it.
    """
    course = follow(readings, drives, changes)
    return course.gaps, course.faults


def follow(
    readings: Iterable[OdometerReading], drives: Iterable[OdometerLeg], changes: Iterable[Change] = ()
) -> "OdometerChain":
    """Return the course of a vehicle: `gaps` and `faults` as `chain` says, and the `points` in order.

    Points are (day, odometer) at readings and at the ends of legs; `measured` are the days of those with
    another before them, which tells what was driven in between.
    """
    days: dict[date, tuple[list, list, list]] = {}
    for number, rows in enumerate((readings, drives, changes)):
        for row in rows:
            days.setdefault(row.date, ([], [], []))[number].append(row)
    course = OdometerChain()
    for day in sorted(days):
        at_day, driven, changed = days[day]
        change = changed[0] if changed else None
        for row in _in_order(at_day, driven, change, course.last):
            if change and not course.fits_before(row, change):
                course.swap(change)
                change = None
            course.go(row)
        if change:
            course.swap(change)
    return course


class OdometerChain:
    """Goes along a vehicle's points. `between`: what legs without readings drove since the last point."""

    def __init__(self):
        self.gaps, self.faults, self.points, self.measured = [], [], [], []
        self.last, self.last_date, self.between, self.bare = None, None, ZERO, True

    def go(self, row: OdometerReading | OdometerLeg) -> None:
        if isinstance(row, OdometerReading):
            self._point(row.key, row.date, row.reading)
            return
        if row.start is not None:
            self._point(row.key, row.date, row.start)
        self.between, self.bare = self.between + row.distance, False
        if row.end is not None:
            self._point(row.key, row.date, row.end)

    def _point(self, key: Hashable, day: date, odometer: Decimal) -> None:
        if self.last is not None:
            self.measured.append(day)
            begin = self.last + self.between
            if odometer < begin:
                self.faults.append(Fault(key, day, odometer, begin, self.last_date))
            elif odometer > begin:
                self.gaps.append(Gap(day, odometer - begin, begin, odometer, self.last_date, self.bare))
        self.last, self.last_date, self.between, self.bare = odometer, day, ZERO, True
        self.points.append((day, odometer))

    def swap(self, change: Change) -> None:
        """Go on with the new odometer."""
        self._point(change.key, change.date, change.last)
        self.last = change.first
        self.points.append((change.date, change.first))

    def fits_before(self, row: OdometerReading | OdometerLeg, change: Change) -> bool:
        """Whether a reading or leg can stand on the old odometer."""
        low = None if self.last is None else self.last + self.between
        if isinstance(row, OdometerReading):
            begin = end = row.reading
        else:
            begin = low if row.start is None else row.start
            end = row.end if row.end is not None or begin is None else begin + row.distance
        return begin is None or (_on_the_old(begin, change, low) and end <= change.last)


def _in_order(
    readings: list[OdometerReading], drives: list[OdometerLeg], change: Change | None, last: Decimal | None
) -> list[OdometerReading | OdometerLeg]:
    """Return a day's readings and legs in the order in which they were driven."""
    morning = [row for row in readings if row.at == START]
    evening = [row for row in readings if row.at == END]
    if change:
        began = morning[0].reading if morning else None
        low = began if began is not None and _on_the_old(began, change, last) else last
        return [
            *morning,
            *driving_order(drives, lambda leg: _on_the_old(leg.start, change, low)),
            *evening,
        ]
    early, legs = before_morning(drives, morning[0].reading if morning else None)
    return [*early, *morning, *legs, *evening]


def _on_the_old(reading: Decimal, change: Change, low: Decimal | None) -> bool:
    """Whether a reading is one of the old odometer: between the last one known and its end.

    With none known it is the odometer to whose reading at the change it lies nearer.
    """
    if low is not None or reading > change.last or reading < change.first:
        return (low is None or low <= reading) and reading <= change.last
    return change.last - reading <= reading - change.first


def before_morning(
    drives: Iterable[OdometerLeg], morning: Decimal | None
) -> tuple[list[OdometerLeg], list[OdometerLeg]]:
    """Return a day's legs in order: those that ended by the morning's reading, and those driven after it.

    Only a leg with two readings can stand before it, such as one that says what a jump was.
    """
    drives = list(drives)
    early = [
        leg
        for leg in drives
        if morning is not None and None not in (leg.start, leg.end) and leg.start < leg.end <= morning
    ]
    return driving_order(early), driving_order([leg for leg in drives if leg not in early])


def driving_order(
    drives: list[OdometerLeg], first: Callable[[OdometerLeg], bool] = lambda leg: True
) -> list[OdometerLeg]:
    """Return legs of a day in order: by start reading, each other after the one entered before it.

    Those with a start reading of which `first` is true stand before the others.
    """
    drives = sorted(drives, key=lambda drive: drive.entry)
    groups: list[list[OdometerLeg]] = [[]]
    for drive in drives:
        if drive.start is not None:
            groups.append([drive])
        else:
            groups[-1].append(drive)
    begin, *rest = groups
    rest.sort(key=lambda group: (not first(group[0]), group[0].start, group[0].entry))
    return [drive for group in [begin, *rest] for drive in group]
