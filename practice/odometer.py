"""The chain of a vehicle's odometer: pure, on plain values. Distances in the practice's unit."""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

ZERO = Decimal(0)
START, END = "start", "end"


@dataclass(frozen=True)
class Reading:
    """The odometer at the day's start or end."""

    key: Hashable
    date: date
    at: str
    reading: Decimal


@dataclass(frozen=True)
class Drive:
    """A leg of one vehicle. `entry` is the order of entry; odometer readings where they were taken."""

    key: Hashable
    date: date
    entry: int
    distance: Decimal
    start: Decimal | None = None
    end: Decimal | None = None


@dataclass(frozen=True)
class Gap:
    """Distance that no leg accounts for, before the point on this day: not logged, never claimed."""

    date: date
    distance: Decimal


@dataclass(frozen=True)
class Fault:
    """A point lower than what came before it. `last` is the odometer as the book had it."""

    key: Hashable
    date: date
    reading: Decimal
    last: Decimal
    last_date: date


def chain(readings: Iterable[Reading], drives: Iterable[Drive]) -> tuple[list[Gap], list[Fault]]:
    """Return what is not logged and what cannot be, of one vehicle.

    Legs stand in order of date, start reading, entry; a leg without readings stands after the one
    entered before it that day. Not logged = next point − last point − the legs without readings
    between them; below zero is a fault.
    """
    gaps, faults = [], []
    last, last_date, between = None, None, ZERO
    for key, day, point, after in _points(readings, drives):
        if point is None:
            between += after
            continue
        if last is not None:
            missing = point - last - between
            if missing < 0:
                faults.append(Fault(key, day, point, last + between, last_date))
            elif missing > 0:
                gaps.append(Gap(day, missing))
        last, last_date, between = point, day, after
    return gaps, faults


def points_of(readings: Iterable[Reading], drives: Iterable[Drive]) -> list[tuple[date, Decimal]]:
    """Return the odometer as it was read, day by day in order: at readings, and at the ends of legs."""
    return [(day, point) for _, day, point, _ in _points(readings, drives) if point is not None]


def _points(readings: Iterable[Reading], drives: Iterable[Drive]):
    """Yield (key, day, odometer, distance driven since without a reading) in order.

    A leg without readings yields no odometer.
    """
    days: dict[date, list] = {}
    for row in (*readings, *drives):
        days.setdefault(row.date, []).append(row)
    for day in sorted(days):
        rows = days[day]
        yield from ((r.key, day, r.reading, ZERO) for r in rows if isinstance(r, Reading) and r.at == START)
        for drive in driving_order([row for row in rows if isinstance(row, Drive)]):
            if drive.start is not None and drive.end is not None:
                yield drive.key, day, drive.start, drive.distance
                yield drive.key, day, drive.end, ZERO
            elif drive.start is not None:
                yield drive.key, day, drive.start, drive.distance
            else:
                yield drive.key, day, None, drive.distance
                if drive.end is not None:
                    yield drive.key, day, drive.end, ZERO
        yield from ((r.key, day, r.reading, ZERO) for r in rows if isinstance(r, Reading) and r.at == END)


def driving_order(drives: list[Drive]) -> list[Drive]:
    """Return the legs of a day in order: by start reading, each other after the one entered before it."""
    drives = sorted(drives, key=lambda drive: drive.entry)
    groups: list[list[Drive]] = [[]]
    for drive in drives:
        if drive.start is not None:
            groups.append([drive])
        else:
            groups[-1].append(drive)
    first, *rest = groups
    rest.sort(key=lambda group: (group[0].start, group[0].entry))
    return [drive for group in [first, *rest] for drive in group]
