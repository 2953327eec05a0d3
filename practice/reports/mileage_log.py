"""The mileage log of any period: every drive as it was written down, and what was not."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from practice.lib.formats import counted, listed
from practice.lib.plain import plain
from practice.lib.spreadsheet_cells import csv_text
from practice.models import Leg, Reading, Vehicle, Work
from practice.reports.odometers import in_driving_order, vehicle_chain

NOT_LOGGED = "not logged"
PURPOSES = (*Leg.Purpose.values, NOT_LOGGED)
ZERO = Decimal(0)
COLUMNS = (
    "date",
    "vehicle",
    "day_start_odometer",
    "day_end_odometer",
    "start_odometer",
    "end_odometer",
    "from",
    "to",
    "reason",
    "distance",
    "purpose",
    "estimated",
    "made_on",
    "changed_on",
)


@dataclass(frozen=True)
class LogRow:
    """A drive, or what was not logged before a point of the odometer (purpose `not logged`).

    `day_start`, `day_end` are the day's readings, `start`, `end` the drive's own; distances are in the
    practice's unit. `made_on`, `changed_on`: the days of its entry, None where not known.
    """

    date: date
    vehicle: Vehicle
    day_start: Decimal | None
    day_end: Decimal | None
    start: Decimal | None
    end: Decimal | None
    origin: str
    destination: str
    reason: str
    distance: Decimal
    purpose: str
    estimated: bool = False
    made_on: date | None = None
    changed_on: date | None = None


@dataclass(frozen=True)
class LogTotal:
    """Distances by purpose, `not logged` among them."""

    key: object
    by_purpose: dict[str, Decimal]

    @property
    def logged(self) -> Decimal:
        return sum((self.by_purpose[purpose] for purpose in Leg.Purpose.values), ZERO)

    @property
    def not_logged(self) -> Decimal:
        return self.by_purpose[NOT_LOGGED]

    @property
    def driven(self) -> Decimal:
        return sum(self.by_purpose.values(), ZERO)

    @property
    def columns(self) -> list[Decimal]:
        """Business, commuting, personal, not logged, and all together."""
        return [*(self.by_purpose[purpose] for purpose in PURPOSES), self.driven]


def legs_for_log() -> QuerySet[Leg]:
    """Return the legs with all that a log shows of them, in order of entry."""
    work = Prefetch("visit__work", Work.objects.select_related("service").order_by("pk"))
    return Leg.objects.select_related("vehicle", "visit__place").prefetch_related(work).order_by("pk")


def reason_of(leg: Leg) -> str:
    """Return why a leg was driven: what was typed, else the work of its visit. Needs `legs_for_log`.

    `shoeing, 3 horses`; a visit without work that resets a cycle names its services: `lost shoe, 1 horse`.
    """
    if leg.reason or leg.visit is None:
        return leg.reason
    work = list(leg.visit.work.all())
    if not work:
        return f"visit at {leg.visit.place}"
    services = list(dict.fromkeys(row.service.name.lower() for row in work))
    what = "shoeing" if any(row.service.resets_cycle for row in work) else listed(services)
    return f"{what}, {counted(len({row.horse_id for row in work}), 'horse')}"


def local_day(moment: datetime | None) -> date | None:
    return timezone.localtime(moment).date() if moment else None


def mileage_log(begin: date, end: date, vehicle: Vehicle | None = None) -> list[LogRow]:
    """Return what was driven from `begin` to `end`, by date, then vehicle, then in driving order.

    What is not logged stands after the drives of the day of its later point.
    """
    span = Q(date__range=(begin, end))
    vehicles = [vehicle] if vehicle else list(Vehicle.objects.order_by("pk"))
    mine = Q(vehicle__in=vehicles)
    legs: dict[tuple[date, int], list[Leg]] = defaultdict(list)
    for leg in legs_for_log().filter(span & mine):
        legs[leg.date, leg.vehicle_id].append(leg)
    readings: dict[tuple[date, int], dict[str, Decimal]] = defaultdict(dict)
    for row in Reading.objects.filter(span & mine):
        readings[row.date, row.vehicle_id][row.at] = row.reading
    gaps = defaultdict(list)
    for each in vehicles:
        for gap in vehicle_chain(each, begin, end)[0]:
            gaps[gap.date, each.pk].append(gap)
    by_pk = {each.pk: each for each in vehicles}
    rows = []
    for day, key in sorted({*legs, *gaps}):
        at_day = readings[day, key]
        common = (day, by_pk[key], at_day.get(Reading.At.START), at_day.get(Reading.At.END))
        rows += [_row_of(leg, common) for leg in in_driving_order(legs[day, key])]
        rows += [
            LogRow(*common, gap.begin if gap.bare else None, gap.end, "", "", "", gap.distance, NOT_LOGGED)
            for gap in gaps[day, key]
        ]
    return rows


def _row_of(leg: Leg, common: tuple) -> LogRow:
    return LogRow(
        *common,
        leg.start_odometer,
        leg.end_odometer,
        leg.origin,
        leg.destination,
        reason_of(leg),
        leg.distance,
        leg.purpose,
        leg.estimated,
        local_day(leg.recorded_at),
        local_day(leg.changed_at),
    )


def totals_by(rows: Iterable[LogRow], key: Callable[[LogRow], object]) -> list[LogTotal]:
    """Return the distances by a key of the rows (a month, a vehicle), in order of appearance."""
    sums: dict[object, dict[str, Decimal]] = {}
    for row in rows:
        own = sums.setdefault(key(row), dict.fromkeys(PURPOSES, ZERO))
        own[row.purpose] += row.distance
    return [LogTotal(name, by_purpose) for name, by_purpose in sums.items()]


def total_of(rows: Iterable[LogRow]) -> LogTotal:
    """Return the distances of all rows together."""
    found = totals_by(rows, lambda row: None)
    return found[0] if found else LogTotal(None, dict.fromkeys(PURPOSES, ZERO))


def log_csv(rows: Iterable[LogRow]) -> str:
    """Return the log as CSV (RFC 4180): decimals with a point, dates as 2026-10-14."""
    return csv_text([COLUMNS, *map(csv_row, rows)])


def csv_row(row: LogRow) -> list:
    numbers = (row.day_start, row.day_end, row.start, row.end)
    return [
        row.date,
        row.vehicle.name,
        *(None if number is None else plain(number) for number in numbers),
        row.origin,
        row.destination,
        row.reason,
        plain(row.distance),
        row.purpose,
        "yes" if row.estimated else "no",
        row.made_on,
        row.changed_on,
    ]
