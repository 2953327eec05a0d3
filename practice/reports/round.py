"""The round of a day: each vehicle's stops in driving order, its drives, and what is not logged."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from operator import attrgetter

from django.urls import reverse

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Horse, Leg, Reading, Vehicle, Visit
from practice.reports.drives import ProposedDrive, RoadHistory, propose_drives
from practice.reports.due import due_places
from practice.reports.odometers import in_driving_order, vehicle_chain
from practice.reports.road_log import gap_url, gap_words
from practice.rules.odometer import Gap
from practice.rules.routing import Basis

# How many places with horses due are named on an empty day.
DUE_SHOWN = 3
BASIS = {
    Basis.DRIVEN: "as driven before",
    Basis.SAME_PLACE: "same place",
    Basis.UNKNOWN: "distance not known",
}


@dataclass
class RoundStop:
    """A visit of the round with the horses worked on, in order of entry.

    `reach` is what was driven to get there, `proposal` the drive that nobody has written down; distances
    are in the practice's unit, None where there is none.
    """

    visit: Visit
    horses: list[Horse]
    reach: Decimal | None = None
    proposal: ProposedDrive | None = None

    @property
    def is_planned(self) -> bool:
        return self.visit.status == Visit.Status.PLANNED

    @property
    def is_done(self) -> bool:
        return self.visit.status == Visit.Status.DONE

    @property
    def is_cancelled(self) -> bool:
        return self.visit.status == Visit.Status.CANCELLED

    @property
    def about(self) -> Decimal | None:
        """How far it probably is, where no drive there is written down."""
        return self.proposal.distance if self.proposal and self.reach is None else None

    @property
    def horse_names(self) -> str:
        return ", ".join(str(horse) for horse in self.horses)

    @property
    def lacks_work(self) -> bool:
        """Whether it is done, and nothing was written down for any horse."""
        return self.is_done and not self.horses

    @property
    def state(self) -> str:
        return "invoiced" if self.visit.locked else self.visit.get_status_display().lower()

    @property
    def look(self) -> str:
        """Its class on the route."""
        return "ahead" if self.is_planned else "off" if self.is_cancelled else ""


@dataclass
class VehicleDay:
    """One vehicle's part of a day (None: visits without one); `gaps` is what is not logged of it."""

    vehicle: Vehicle | None
    profile: Profile
    stops: list[RoundStop] = field(default_factory=list)
    legs: list[Leg] = field(default_factory=list)
    readings: dict[str, Decimal] = field(default_factory=dict)
    proposals: list[ProposedDrive] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)

    @property
    def name(self) -> str:
        return str(self.vehicle) if self.vehicle else "No vehicle"

    @property
    def driven(self) -> Decimal:
        return sum((leg.distance for leg in self.legs), Decimal(0))

    @property
    def by_odometer(self) -> Decimal | None:
        """What the day's two readings say, where it is one odometer that they read."""
        if "start" in self.readings and self.readings["start"] <= self.readings.get("end", -1):
            return self.readings["end"] - self.readings["start"]
        return None

    @property
    def odometer(self) -> str:
        """What the odometer says beside the drives; blank without two readings."""
        if self.by_odometer is None:
            return ""
        unit, locale = self.profile.distance_unit, self.profile.locale
        read = formats.distance(self.by_odometer, unit, locale)
        return f"{read} by the odometer, {formats.distance(self.driven, unit, locale)} logged."

    @property
    def proposed(self) -> list[tuple[ProposedDrive, str]]:
        """The drives nobody has logged, each with its purpose and what its distance rests on."""
        return [(row, f"{row.purpose}, {basis_in_words(row, self.profile.locale)}") for row in self.proposals]

    @property
    def unlogged(self) -> list[tuple[Gap, str, str]]:
        """What is not logged: between which readings, and the page that fills it."""
        return [(gap, gap_words(gap, self.profile.locale), gap_url(self.vehicle, gap)) for gap in self.gaps]

    @property
    def drives(self) -> list[ListRow]:
        """The drives that are logged, each with its purpose, whether it is estimated, reason and readings."""
        unit, locale = self.profile.distance_unit, self.profile.locale
        rows = []
        for leg in self.legs:
            read = formats.span(leg.start_odometer, leg.end_odometer, locale)
            words = [
                leg.get_purpose_display().lower(),
                "estimated" if leg.estimated else "",
                leg.reason,
                read,
            ]
            far = formats.distance(leg.distance, unit, locale)
            rows.append(ListRow(leg.get_absolute_url(), leg.ends, ", ".join(filter(None, words)), far))
        return rows

    @property
    def to_add(self) -> list[ProposedDrive]:
        """The proposed drives whose distance is known."""
        return [row for row in self.proposals if row.distance is not None]

    @property
    def is_shown(self) -> bool:
        """Whether it has something on that day, or is in use."""
        in_use = self.vehicle is not None and not self.vehicle.archived
        return bool(self.stops or self.legs or self.readings or in_use)


@dataclass
class DayRound:
    """The round of a day, as its page shows it on the day that is `today`."""

    day: date
    today: date
    vehicles: list[VehicleDay]
    profile: Profile

    @property
    def stops(self) -> list[Visit]:
        """The day's visits that were not cancelled."""
        rows = [stop for part in self.vehicles for stop in part.stops]
        return [row.visit for row in rows if not row.is_cancelled]

    @property
    def next_stop(self) -> Visit | None:
        """Where to go next, while the day is today."""
        planned = (visit for visit in self.stops if visit.status == Visit.Status.PLANNED)
        return next(planned, None) if self.is_today else None

    @property
    def answer(self) -> str:
        """How far the round is, as the page's heading says it."""
        done = sum(visit.status == Visit.Status.DONE for visit in self.stops)
        return stops_done(done, len(self.stops)) if self.stops else "No stops planned yet."

    @property
    def is_today(self) -> bool:
        return self.day == self.today

    @property
    def is_ahead(self) -> bool:
        return self.day > self.today

    @property
    def before(self) -> date:
        return self.day - timedelta(1)

    @property
    def after(self) -> date:
        return self.day + timedelta(1)

    @property
    def due(self) -> list[ListRow]:
        """Places with horses due, where no stop is planned; each opens the form of a stop there."""
        return [] if self.stops else due_rows(self.day, DUE_SHOWN, self.profile)

    @property
    def plan_url(self) -> str:
        return plan_url(self.day)


def plan_url(on: date) -> str:
    """Return the form that plans a stop on a day."""
    return reverse("practice:visit-plan", args=[on.isoformat()])


def due_rows(on: date, most: int, profile: Profile) -> list[ListRow]:
    """Return the places with horses due, as rows that open the form of a stop there on that day."""
    rows = []
    for place in due_places(on)[:most]:
        planned = f"planned {formats.short_date(place.planned.date, profile.locale)}" if place.planned else ""
        due = f"due {formats.short_date(place.due, profile.locale)}"
        url = f"{plan_url(on)}?place={place.place.pk}"
        rows.append(ListRow(url, place.place.name, place.horse_names, due, place.due < on, planned))
    return rows


def stops_done(done: int, stops: int) -> str:
    """Say how many of a day's stops are done, in one sentence. There is at least one stop."""
    if stops == 1:
        return "Your one stop is done." if done else "Your one stop is not done yet."
    if done == stops:
        return f"All {stops} stops are done."
    if not done:
        return f"None of your {stops} stops is done yet."
    return f"{done} of {stops} stops {'is' if done == 1 else 'are'} done."


def basis_in_words(row: ProposedDrive, locale: str) -> str:
    """Return what a proposed distance rests on: `as driven before`."""
    if row.basis == Basis.STRAIGHT:
        return f"straight line × {formats.quantity(row.factor, locale)}"
    return BASIS[row.basis]


def vehicle_days(on: date, profile: Profile) -> list[VehicleDay]:
    """Return a day's parts: one for each vehicle in use, and one for visits without a vehicle."""
    vehicles = Vehicle.objects.order_by("pk")
    parts: dict[int | None, VehicleDay] = {row.pk: VehicleDay(row, profile) for row in vehicles}
    for visit in Visit.objects.filter(date=on).for_round():
        work = sorted(visit.work.all(), key=attrgetter("pk"))
        horses = list(dict.fromkeys(row.horse for row in work))
        parts.setdefault(visit.vehicle_id, VehicleDay(None, profile)).stops.append(RoundStop(visit, horses))
    reached: dict[int, Decimal] = defaultdict(Decimal)
    for leg in Leg.objects.filter(date=on).select_related("visit__place").order_by("pk"):
        parts[leg.vehicle_id].legs.append(leg)
        if leg.visit_id:
            reached[leg.visit_id] += leg.distance
    for reading in Reading.objects.filter(date=on):
        parts[reading.vehicle_id].readings[reading.at] = reading.reading
    road = RoadHistory(profile)
    for part in parts.values():
        _fill(part, on, road, reached)
    return [part for part in parts.values() if part.is_shown]


def _fill(part: VehicleDay, on: date, road: RoadHistory, reached: dict[int, Decimal]) -> None:
    """Add what was driven to each stop, the drives nobody has written down, and what is not logged."""
    for stop in part.stops:
        stop.reach = reached.get(stop.visit.pk)
    if part.vehicle is None:
        return
    part.legs = in_driving_order(part.legs)
    part.proposals = propose_drives([stop.visit for stop in part.stops], part.legs, road, set(reached))
    by_visit = {row.visit: row for row in part.proposals}
    for stop in part.stops:
        stop.proposal = by_visit.get(stop.visit)
    if part.legs or part.readings:
        part.gaps = vehicle_chain(part.vehicle, on, on)[0]


def day_round(on: date, today: date, profile: Profile) -> DayRound:
    """Return the round of a day."""
    return DayRound(on, today, vehicle_days(on, profile), profile)
