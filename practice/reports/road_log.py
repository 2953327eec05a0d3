"""The log of one vehicle's month, as its page shows it, with what has to be fixed."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.urls import reverse
from django.utils import timezone

from practice.lib import formats
from practice.lib.figures import SumRow
from practice.lib.periods import Period
from practice.lib.plain import plain
from practice.lib.profile import Profile
from practice.models import Leg, LegChange, OdometerChange, Reading, Vehicle, Visit
from practice.reports.drives import visits_without_leg
from practice.reports.mileage_log import NOT_LOGGED, PURPOSES, LogTotal, legs_for_log, local_day, reason_of
from practice.reports.odometers import in_driving_order, vehicle_chain
from practice.rules.commuting import without_reason
from practice.rules.odometer import Gap

ZERO = Decimal(0)
TIME_OF_DAY = {Reading.At.START: "morning", Reading.At.END: "evening"}
# To fix: a jump, stops without a drive, a drive that does not name its stop, a drive without a reason.
JUMP, NO_DRIVE, NO_VISIT, NO_REASON = "jump", "no_drive", "no_visit", "no_reason"


@dataclass
class LogEntry:
    """A drive with its reason and the days on which it was entered and last changed.

    `note` says when, where the day's own line does not.
    """

    leg: Leg
    reason: str
    entered_on: date | None
    changed_on: date | None
    note: str = ""
    odometer: str = ""

    @property
    def purpose(self) -> str:
        purpose = self.leg.get_purpose_display().lower()
        return f"{purpose}, estimated" if self.leg.estimated else purpose


@dataclass
class LogDay:
    """A day of the log, each gap with its words. `note` says when it was entered and which readings were
    changed, `odometer` what they are, both in words.
    """

    date: date
    entries: list[LogEntry] = field(default_factory=list)
    gaps: list[tuple[Gap, str]] = field(default_factory=list)
    readings: dict[str, Reading] = field(default_factory=dict)
    change: OdometerChange | None = None
    note: str = ""
    odometer: str = ""

    @property
    def distance(self) -> Decimal:
        return sum((entry.leg.distance for entry in self.entries), ZERO)

    @property
    def entered_on(self) -> date | None:
        """The day on which all of its drives were entered, where it is one."""
        days = {entry.entered_on for entry in self.entries}
        return days.pop() if len(days) == 1 else None

    def add_words(self, profile: Profile) -> None:
        """Fill in what the day and its drives show in words."""
        locale = profile.locale
        shown = [
            f"{TIME_OF_DAY[at]} {formats.tenths(row.reading, locale)}"
            for at, row in sorted(self.readings.items(), reverse=True)
        ]
        if self.change:
            last, first = formats.tenths(self.change.last, locale), formats.tenths(self.change.first, locale)
            shown.append(f"new odometer, {last} on the old one and {first} on the new one")
        self.odometer = ", ".join(shown).capitalize()
        words = [_entered(self.entered_on, self.date, profile)] if self.entered_on else []
        for reading in self.readings.values():
            if reading.changed_at:
                changed = _day(local_day(reading.changed_at), profile)
                words.append(f"{TIME_OF_DAY[reading.at]} reading changed {changed}")
        self.note = "; ".join(words)
        for entry in self.entries:
            own = [f"changed {_day(entry.changed_on, profile)}"] if entry.changed_on else []
            if entry.entered_on and not self.entered_on:
                own.append(_entered(entry.entered_on, self.date, profile))
            entry.note = "; ".join(own)
            entry.odometer = formats.span(entry.leg.start_odometer, entry.leg.end_odometer, locale)


def _entered(on: date, driven: date, profile: Profile) -> str:
    return "entered the same day" if on == driven else f"entered {_day(on, profile)}"


def _day(day: date, profile: Profile) -> str:
    """Return `Mon, Oct 12`, with the year where it is not the one of the profile's today."""
    return formats.short_date(day, profile.locale, profile.today)


@dataclass(frozen=True)
class RoadIssue:
    """Something of a day to fix: what it is, in words, and the page where it is fixed (`action`, `url`)."""

    kind: str
    date: date
    title: str
    text: str
    action: str
    url: str
    gap: Gap | None = None


@dataclass(frozen=True)
class MonthLog:
    """One vehicle's month, latest day first; `removed` are the drives that were deleted."""

    vehicle: Vehicle
    days: list[LogDay]
    total: LogTotal
    issues: list[RoadIssue]
    sums: list[SumRow]
    removed: list[LegChange]

    @property
    def is_empty(self) -> bool:
        return not (self.days or self.issues or self.removed)


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
        at(gap.date).gaps.append((gap, gap_words(gap, profile)))
    all_legs = [leg for rows in legs.values() for leg in rows]
    sums = {
        purpose: sum((leg.distance for leg in all_legs if leg.purpose == purpose), ZERO)
        for purpose in PURPOSES
    }
    sums[NOT_LOGGED] = sum((gap.distance for gap in gaps), ZERO)
    for day in days.values():
        day.add_words(profile)
    removed = vehicle.legchanges.filter(date__range=span, what=LegChange.What.REMOVED)
    total = LogTotal(vehicle, sums)
    return MonthLog(
        vehicle,
        [days[day] for day in sorted(days, reverse=True)],
        total,
        _issues(vehicle, gaps, all_legs, visits_without_leg(vehicle, *span), profile),
        _sum_rows(total, profile),
        list(removed.select_related("visit__place").order_by("-at", "-pk")),
    )


def _sum_rows(total: LogTotal, profile: Profile) -> list[SumRow]:
    """Return business + commuting + personal = logged, + not logged = driven."""
    rows = [
        ("", "Business", total.by_purpose[Leg.Purpose.BUSINESS]),
        ("+", "Commuting", total.by_purpose[Leg.Purpose.COMMUTING]),
        ("+", "Personal", total.by_purpose[Leg.Purpose.PERSONAL]),
        ("=", "Logged", total.logged),
        ("+", "Not logged", total.not_logged),
    ]
    unit, locale = profile.distance_unit, profile.locale
    shown = [SumRow(sign, label, formats.distance(value, unit, locale)) for sign, label, value in rows]
    return [*shown, SumRow("=", "Driven", formats.distance(total.driven, unit, locale), total=True)]


def _issues(
    vehicle: Vehicle, gaps: list[Gap], legs: list[Leg], without: dict[date, list[Visit]], profile: Profile
) -> list[RoadIssue]:
    """Return what has to be fixed, latest day first."""
    issues = [_jump(vehicle, gap, profile) for gap in gaps]
    issues += [_no_drive(day, visits, profile) for day, visits in without.items()]
    lacking = lacking_reason(legs, profile)
    for leg in legs:
        reached = {visit.place.name.casefold() for visit in without.get(leg.date, ())}
        if leg.visit_id is None and leg.destination.strip().casefold() in reached:
            issues.append(_about(leg, NO_VISIT, "A drive that names no stop", "Name the stop", profile))
        elif leg in lacking:
            issues.append(_about(leg, NO_REASON, "A business drive without a reason", "Add it", profile))
    return sorted(issues, key=lambda row: row.date, reverse=True)


def _jump(vehicle: Vehicle, gap: Gap, profile: Profile) -> RoadIssue:
    return RoadIssue(
        JUMP,
        gap.date,
        f"{formats.distance(gap.distance, profile.distance_unit, profile.locale)} not logged",
        gap_words(gap, profile),
        "Say what it was",
        gap_url(vehicle, gap) + "?log",
        gap,
    )


def gap_url(vehicle: Vehicle, gap: Gap) -> str:
    """Return the page that says what a gap was."""
    return reverse("practice:gap-fill", args=[gap.date.isoformat(), vehicle.pk, plain(gap.end)])


def gap_words(gap: Gap, profile: Profile) -> str:
    """Return between which readings a gap lies: `Mon, Oct 12 to Wed, Oct 14: 84,198.0 to 84,205.2.`"""
    span = f"{formats.tenths(gap.begin, profile.locale)} to {formats.tenths(gap.end, profile.locale)}"
    more = "" if gap.bare else ", on top of the drives that are logged"
    if gap.begin_date == gap.date:
        return f"{span}{more}."
    days = f"{_day(gap.begin_date, profile)} to {_day(gap.date, profile)}"
    return f"{days}: {span}{more}."


def _no_drive(day: date, visits: list[Visit], profile: Profile) -> RoadIssue:
    places = ", ".join(visit.place.name for visit in visits)
    return RoadIssue(
        NO_DRIVE,
        day,
        "1 stop without a drive" if len(visits) == 1 else f"{len(visits)} stops without a drive",
        f"{_day(day, profile)}: {places}.",
        "Add the drives",
        reverse("practice:round", args=[day.isoformat()]),
    )


def _about(leg: Leg, kind: str, title: str, action: str, profile: Profile) -> RoadIssue:
    length = formats.distance(leg.distance, profile.distance_unit, profile.locale)
    return RoadIssue(
        kind,
        leg.date,
        title,
        f"{_day(leg.date, profile)}: {leg.ends}, {length}.",
        action,
        leg.get_absolute_url(),
    )


def lacking_reason(legs: list[Leg], profile: Profile) -> list[Leg]:
    """Return the business drives of a vehicle that have no reason where they need one.

    Only an import brings most of them; the last drive of a day can be one until the next is logged.
    """
    lacking = [
        leg for leg in legs if leg.purpose == Leg.Purpose.BUSINESS and not (leg.reason or leg.visit_id)
    ]
    if not profile.home_is_principal_place_of_business:
        days = defaultdict(list)
        for leg in legs:
            days[leg.date].append(leg)
        lacking += [leg for rows in days.values() for leg in without_reason(in_driving_order(rows))]
    return list(dict.fromkeys(lacking))


def entry_history(leg: Leg, locale: str) -> str:
    """Return when a drive was entered and last changed: `Entered Oct 14, 2026, 7:05 PM.`"""
    if leg.recorded_at:
        entered = f"Entered {formats.stamp(timezone.localtime(leg.recorded_at), locale)}"
    else:
        entered = "Imported without the time of its entry"
    changed = formats.stamp(timezone.localtime(leg.changed_at), locale) if leg.changed_at else ""
    return f"{entered}, changed {changed}." if changed else f"{entered}."
