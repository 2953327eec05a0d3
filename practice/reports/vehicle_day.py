"""One vehicle's part of a day: its stops in driving order, its drives, and what is not logged."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from operator import attrgetter

from django.urls import reverse

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Horse, Leg, Reading, Vehicle, Visit
from practice.reports.drives import ProposedDrive, RoadHistory, propose_drives
from practice.reports.due import DueHorse, due_horses
from practice.reports.odometers import in_driving_order, vehicle_chain
from practice.reports.road_log import gap_url, gap_words
from practice.reports.working_time import in_words
from practice.rules.odometer import Gap
from practice.rules.routing import Basis, is_home

BASIS = {
    Basis.DRIVEN: "as driven before",
    Basis.SAME_PLACE: "same place",
    Basis.UNKNOWN: "distance not known",
}


@dataclass
class RoundStop:
    """A visit of the round with the horses worked on, in order of entry, and those due there on its day.

    `reach` is what was driven to get there, `proposal` the drive that nobody has written down; distances
    are in the practice's unit, None where there is none.
    """

    visit: Visit
    horses: list[Horse]
    due: list[DueHorse] = field(default_factory=list)
    reach: Decimal | None = None
    proposal: ProposedDrive | None = None
    minutes: int | None = None  # how long the horses due there take, where a round shows that
    steps: list = field(default_factory=list)  # what comes next there, where a round shows that

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
    def doing(self) -> str:
        """What was done there: `Pewter: Reset; Domino: Trim`; who is due while nothing is saved."""
        if self.horses:
            return "; ".join(f"{horse}: {', '.join(self._services(horse))}" for horse in self.horses)
        if not self.is_planned:
            return ""
        return ", ".join(f"{row.horse} {self._when(row)}" for row in self.due)

    def _services(self, horse: Horse) -> list[str]:
        work = sorted(self.visit.work.all(), key=attrgetter("pk"))
        return [str(row.service) for row in work if row.horse_id == horse.pk]

    def _when(self, row: DueHorse) -> str:
        days = row.days_over(self.visit.date)
        return formats.days_over(days) if days else "due on the day"

    @property
    def takes(self) -> str:
        return in_words(self.minutes) if self.minutes else ""

    @property
    def done_url(self) -> str:
        """The address of the form that ends it."""
        return reverse("practice:visit-complete", args=[self.visit.pk])

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
    ahead: str = ""  # what is still to do, where a round shows that

    @property
    def name(self) -> str:
        return str(self.vehicle) if self.vehicle else "No vehicle"

    @property
    def end_id(self) -> str:
        """The field of its evening odometer on the page."""
        return f"id_{odometer_prefix(self.vehicle)}-end"

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
        return [(gap, gap_words(gap, self.profile), gap_url(self.vehicle, gap)) for gap in self.gaps]

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
    def open_stops(self) -> list[RoundStop]:
        """Its stops that were not canceled."""
        return [stop for stop in self.stops if not stop.is_cancelled]

    @property
    def has_route(self) -> bool:
        """Whether its round begins and ends at home: it has a vehicle, and stops to drive to."""
        return self.vehicle is not None and bool(self.open_stops)

    @property
    def way_home(self) -> Decimal | None:
        """How far it is home from the last stop, as driven or as proposed; None where nothing says so."""
        last = self.legs[-1] if self.legs else None
        if last and is_home(last.destination):
            return last.distance
        return next((row.distance for row in self.proposals if row.visit is None), None)

    @property
    def is_home(self) -> bool:
        """Whether the drive home is logged."""
        return bool(self.legs and is_home(self.legs[-1].destination))

    @property
    def is_shown(self) -> bool:
        """Whether it has something on that day, or is in use."""
        in_use = self.vehicle is not None and not self.vehicle.archived
        return bool(self.stops or self.legs or self.readings or in_use)


def basis_in_words(row: ProposedDrive, locale: str) -> str:
    """Return what a proposed distance rests on: `as driven before`."""
    if row.basis == Basis.STRAIGHT:
        return f"straight line × {formats.quantity(row.factor, locale)}"
    return BASIS[row.basis]


def odometer_prefix(vehicle: Vehicle) -> str:
    """Return what the names of a vehicle's odometer fields on the page begin with."""
    return f"v{vehicle.pk}"


def vehicle_days(on: date, profile: Profile) -> list[VehicleDay]:
    """Return a day's parts: one for each vehicle in use, and one for visits without a vehicle."""
    vehicles = Vehicle.objects.order_by("pk")
    parts: dict[int | None, VehicleDay] = {row.pk: VehicleDay(row, profile) for row in vehicles}
    visits = list(Visit.objects.filter(date=on).for_round())
    due = _due_at({visit.place_id for visit in visits if visit.status == Visit.Status.PLANNED}, on)
    for visit in visits:
        work = sorted(visit.work.all(), key=attrgetter("pk"))
        horses = list(dict.fromkeys(row.horse for row in work))
        stop = RoundStop(visit, horses, due[visit.place_id])
        parts.setdefault(visit.vehicle_id, VehicleDay(None, profile)).stops.append(stop)
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


def _due_at(places: set[int], on: date) -> dict[int, list[DueHorse]]:
    """Return the horses due by a day at these places, soonest first, by the place's key."""
    due = defaultdict(list)
    if places:
        for row in due_horses(Horse.objects.active().filter(place__in=places), before=on):
            if row.due and row.due <= on:
                due[row.horse.place_id].append(row)
    return due


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
