"""The mileage log as it leaves the practice: plain values already in words."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

from practice.lib import formats
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.names import town_of
from practice.lib.pdf import render_pdf
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Place, Vehicle
from practice.reports.driven import VehicleDistances, driven_in
from practice.reports.mileage_log import NOT_LOGGED, LogRow, LogTotal, mileage_log, total_of, totals_by
from practice.rules.routing import HOME, place_meant, place_names


@dataclass(frozen=True)
class MileageLogLine:
    """A row of the log. `day` is blank where the row above is of the same day.

    The towns are blank where the book does not know them; `entered` says when it was written down, and
    changed.
    """

    day: str
    odometer: str
    origin: str
    origin_town: str
    destination: str
    destination_town: str
    reason: str
    purpose: str
    distance: str
    entered: str
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
    """`period` in words; sums are business, commuting, personal, not logged, all, in `unit`.

    `odometers`: each vehicle's first and last reading with their days. `home`: why drives from and to home
    are business, or are not.
    """

    period: str
    unit: str
    business: str
    months: list[Month]
    vehicles: list[tuple[str, list[str]]]
    total: list[str]
    odometers: FigureTable
    home: str
    has_estimates: bool


def mileage_paper(
    rows: Iterable[LogRow], period: Period, profile: Profile, driven: Sequence[VehicleDistances] = ()
) -> MileagePaper:
    """Return what the mileage log of a period shows; `rows` are those of `mileage_log`.

    `driven` are those of `driven_in`: they tell the odometers, and of which vehicle it is unknown what is
    not logged.
    """
    rows, locale, town = list(rows), profile.locale, towns(profile)
    unread = {row.vehicle for row in driven if not row.is_measured}

    def sums(total: LogTotal, *vehicles: Vehicle) -> list[str]:
        *logged, not_logged, whole = [formats.tenths(distance, locale) for distance in total.columns]
        if unread & set(vehicles):
            not_logged = f"at least {not_logged}" if total.not_logged else "unknown"
        return [*logged, not_logged, whole]

    by_vehicle = sorted(rows, key=lambda row: row.vehicle.pk)
    months = []
    for (vehicle, begin), own in groupby(by_vehicle, lambda row: (row.vehicle, row.date.replace(day=1))):
        own = list(own)
        drives, total = _drives(own, locale, town), total_of(own)
        months.append(Month(formats.month_name(begin, locale), vehicle.name, drives, sums(total, vehicle)))
    total = total_of(rows)
    return MileagePaper(
        **letterhead(profile, locale),
        period=f"{formats.long_date(period.begin, locale)} to {formats.long_date(period.end, locale)}",
        unit=profile.distance_unit,
        business=formats.distance(total.by_purpose["business"], profile.distance_unit, locale),
        months=months,
        vehicles=[
            (each.key.name, sums(each, each.key)) for each in totals_by(by_vehicle, lambda row: row.vehicle)
        ],
        total=sums(total, *unread),
        odometers=_odometers(driven, locale),
        home=profile.home_in_words,
        has_estimates=any(row.estimated for row in rows),
    )


def towns(profile: Profile) -> Callable[[str], str]:
    """Return what tells the town of a drive's origin or destination; blank where it is not known."""
    places = list(Place.objects.order_by("pk"))
    names = place_names((place.pk, place.ref, place.name) for place in places)
    known = {place.pk: place.town for place in places} | {HOME: town_of(profile.address)}
    return lambda text: known.get(place_meant(names, text), "")


def _odometers(driven: Sequence[VehicleDistances], locale: str) -> FigureTable:
    """Return each vehicle's first and last reading with their days."""

    def read(odometer: Decimal | None, on: date | None) -> str:
        if odometer is None or on is None:
            return "not read"
        return f"{formats.tenths(odometer, locale)} on {formats.medium_date(on, locale)}"

    return FigureTable(
        ("Odometer", "First reading", "Last reading"),
        tuple(
            FigureRow(
                row.vehicle.name,
                (read(row.first_odometer, row.first_read), read(row.last_odometer, row.last_read)),
            )
            for row in driven
        ),
    )


def _drives(rows: list[LogRow], locale: str, town: Callable[[str], str]) -> list[MileageLogLine]:
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
                origin_town=town(row.origin),
                destination=row.destination,
                destination_town=town(row.destination),
                reason=row.reason,
                purpose=purpose,
                distance=formats.tenths(row.distance, locale),
                entered=_entered(row, locale),
                is_claimed=row.purpose != NOT_LOGGED,
            )
        )
    return drives


def _entered(row: LogRow, locale: str) -> str:
    """Return when a drive was written down and last changed: `Mon, Oct 12, changed Tue, Oct 13`."""
    if row.purpose == NOT_LOGGED:
        return ""
    made = formats.short_date(row.made_on, locale) if row.made_on else "not known"
    return f"{made}, changed {formats.short_date(row.changed_on, locale)}" if row.changed_on else made


def _odometer(row: LogRow, is_first: bool, locale: str) -> str:
    """Return the drive's own readings, or, at the first of a day, those of the day."""
    own, day = (row.start, row.end), (row.day_start, row.day_end)
    if own != (None, None):
        return formats.span(*own, locale)
    return f"day: {formats.span(*day, locale)}" if is_first and day != (None, None) else ""


def mileage_log_pdf(period: Period, profile: Profile) -> bytes:
    """Return the mileage log of a period as PDF. Raises PdfUnavailable where the machine cannot make one."""
    rows, driven = mileage_log(period.begin, period.end), driven_in(period)
    return render_pdf("pdf/mileage_log.html", {"paper": mileage_paper(rows, period, profile, driven)})
