"""The mileage log as it leaves the practice: plain values already in words."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from practice.lib import formats
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.pdf import render_pdf
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.reports.mileage_log import NOT_LOGGED, LogRow, LogTotal, mileage_log, total_of, totals_by


@dataclass(frozen=True)
class MileageLogLine:
    """A row of the log. `day` is blank where the row above is of the same day."""

    day: str
    odometer: str
    origin: str
    destination: str
    reason: str
    purpose: str
    distance: str
    is_claimed: bool


@dataclass(frozen=True)
class Month:
    """A month of one vehicle: its drives, and its sums by purpose in words."""

    name: str
    vehicle: str
    drives: list[MileageLogLine]
    sums: list[str]


@dataclass(frozen=True, kw_only=True)
class MileagePaper(Letterhead):
    """`period` in words; sums are business, commuting, personal, not logged, all, in `unit`."""

    period: str
    unit: str
    business: str
    months: list[Month]
    vehicles: list[tuple[str, list[str]]]
    total: list[str]
    has_estimates: bool


def mileage_paper(rows: Iterable[LogRow], period: Period, profile: Profile) -> MileagePaper:
    """Return what the mileage log of a period shows; `rows` are those of `mileage_log`."""
    rows, locale = list(rows), profile.locale

    def sums(total: LogTotal) -> list[str]:
        return [formats.tenths(distance, locale) for distance in total.columns]

    by_vehicle = sorted(rows, key=lambda row: row.vehicle.pk)
    months = []
    for (vehicle, begin), own in groupby(by_vehicle, lambda row: (row.vehicle, row.date.replace(day=1))):
        own = list(own)
        drives = _drives(own, locale)
        months.append(Month(formats.month_name(begin, locale), vehicle.name, drives, sums(total_of(own))))
    total = total_of(rows)
    return MileagePaper(
        **letterhead(profile, locale),
        period=f"{formats.long_date(period.begin, locale)} to {formats.long_date(period.end, locale)}",
        unit=profile.distance_unit,
        business=formats.distance(total.by_purpose["business"], profile.distance_unit, locale),
        months=months,
        vehicles=[(each.key.name, sums(each)) for each in totals_by(by_vehicle, lambda row: row.vehicle)],
        total=sums(total),
        has_estimates=any(row.estimated for row in rows),
    )


def _drives(rows: list[LogRow], locale: str) -> list[MileageLogLine]:
    drives, before = [], None
    for row in rows:
        is_first = row.date != before
        before = row.date
        purpose = f"{row.purpose}, estimated" if row.estimated else row.purpose
        drives.append(
            MileageLogLine(
                day=formats.short_date(row.date, locale) if is_first else "",
                odometer=_odometer(row, is_first, locale),
                origin=row.origin,
                destination=row.destination,
                reason=row.reason,
                purpose=purpose,
                distance=formats.tenths(row.distance, locale),
                is_claimed=row.purpose != NOT_LOGGED,
            )
        )
    return drives


def _odometer(row: LogRow, is_first: bool, locale: str) -> str:
    """Return the drive's own readings, or, at the first of a day, those of the day."""
    own, day = (row.start, row.end), (row.day_start, row.day_end)
    if own != (None, None):
        return formats.span(*own, locale)
    return f"day: {formats.span(*day, locale)}" if is_first and day != (None, None) else ""


def mileage_log_pdf(period: Period, profile: Profile) -> bytes:
    """Return the mileage log of a period as PDF. Raises PdfUnavailable where the machine cannot make one."""
    rows = mileage_log(period.begin, period.end)
    return render_pdf("pdf/mileage_log.html", {"paper": mileage_paper(rows, period, profile)})
