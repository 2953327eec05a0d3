"""The drives of a vehicle's round that nobody has written down yet, as proposals."""

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import F

from practice.lib.geodesic import Point
from practice.lib.profile import Profile
from practice.models import Leg, Place, Vehicle, Visit
from practice.reports.odometers import in_driving_order
from practice.rules.routing import (
    HOME,
    Basis,
    PastLeg,
    ProposedLeg,
    RouteStop,
    detour_factor,
    is_home,
    place_meant,
    place_names,
    propose_legs,
)

# The detour is learned from this many of the last drives with two readings.
LAST_MEASURED = 500
HOME_NAME, DRIVE_HOME = "Home", "drive home"


@dataclass(frozen=True)
class ProposedDrive:
    """A drive of the round that nobody has taken. `key`: the visit's, or `home` for the drive home.

    `distance` is None where nothing says how far it is; `factor` is what a straight line was
    multiplied by.
    """

    key: str
    origin: str
    destination: str
    distance: Decimal | None
    basis: Basis
    purpose: str
    reason: str
    visit: Visit | None
    factor: Decimal


class RoadHistory:
    """What this practice has driven, and where its places are; fetched once, as far as it is asked for."""

    def __init__(self, profile: Profile):
        self.profile, self.unit = profile, profile.distance_unit

    @cached_property
    def places(self) -> list[Place]:
        return list(Place.objects.order_by("pk"))

    @cached_property
    def names(self) -> dict[str, Hashable]:
        return place_names((place.pk, place.ref, place.name) for place in self.places)

    @cached_property
    def points(self) -> dict[Hashable, Point]:
        points: dict[Hashable, Point] = {
            place.pk: (place.latitude, place.longitude)
            for place in self.places
            if None not in (place.latitude, place.longitude)
        }
        home = (self.profile.home_latitude, self.profile.home_longitude)
        return points if None in home else points | {HOME: home}

    def meant(self, text: str) -> Hashable:
        """Return the place that a text means: its key, or the text itself."""
        found = place_meant(self.names, text)
        return text.strip().casefold() if found is None else found

    def stop(self, text: str) -> RouteStop:
        place = self.meant(text)
        return RouteStop(place, self.points.get(place))

    def driven_between(self, places: set[Hashable]) -> list[PastLeg]:
        """Return the legs between any two of these places that were typed or measured."""
        texts = set(Leg.objects.values_list("origin", flat=True).distinct())
        texts |= set(Leg.objects.values_list("destination", flat=True).distinct())
        among = [text for text in texts if text and self.meant(text) in places]
        legs = Leg.objects.filter(proposed__isnull=True, origin__in=among, destination__in=among)
        return [
            PastLeg(self.meant(origin), self.meant(destination), distance)
            for origin, destination, distance in legs.values_list("origin", "destination", "distance")
        ]

    @cached_property
    def factor(self) -> Decimal:
        """How much longer this practice's roads are than straight lines."""
        legs = Leg.objects.filter(start_odometer__isnull=False, end_odometer__isnull=False)
        rows = legs.order_by("-date", "-pk").values_list("origin", "destination", "distance")
        measured = [PastLeg(self.meant(a), self.meant(b), far, True) for a, b, far in rows[:LAST_MEASURED]]
        return detour_factor(measured, self.points, self.unit)


def propose_drives(
    visits: Sequence[Visit], legs: Iterable[Leg], road: RoadHistory, reached: Collection[int] = ()
) -> list[ProposedDrive]:
    """Return the drives of a vehicle's round that no leg stands for: to each visit in order, then home.

    `visits` are the round's in driving order, each with its place; `legs` what is written down of this
    vehicle's day, `reached` the visits that another's legs name. A drive to somewhere else in between
    (the supplier) is gone on from.
    """
    visits = [visit for visit in visits if visit.status != Visit.Status.CANCELLED]
    if not visits:
        return []
    legs = in_driving_order(list(legs))
    reached = {*reached, *(leg.visit_id for leg in legs)}
    aside = [leg for leg in legs if leg.visit_id is None and leg.purpose != Leg.Purpose.PERSONAL]
    open_pairs, here, shown = [], RouteStop(HOME, road.points.get(HOME)), HOME_NAME
    for visit in visits:
        here, shown = _gone_on(here, shown, aside, road, visit)
        stop = RouteStop(visit.place_id, road.points.get(visit.place_id), visit)
        if visit.pk not in reached:
            open_pairs.append((here, shown, stop, visit.place.name))
        here, shown = stop, visit.place.name
    here, shown = _gone_on(here, shown, aside, road, None)
    if not is_home(shown):
        open_pairs.append((here, shown, RouteStop(HOME, road.points.get(HOME)), HOME_NAME))
    return _with_distances(open_pairs, road)


def _gone_on(
    here: RouteStop, shown: str, aside: list[Leg], road: RoadHistory, to: Visit | None
) -> tuple[RouteStop, str]:
    """Follow the written drives that reach no visit from here on; each is gone once."""
    while True:
        leg = next((leg for leg in aside if leg.origin and road.meant(leg.origin) == here.place), None)
        if leg is None or (is_home(leg.destination) and to is not None):
            return here, shown
        aside.remove(leg)
        here, shown = road.stop(leg.destination), leg.destination


def _with_distances(
    pairs: list[tuple[RouteStop, str, RouteStop, str]], road: RoadHistory
) -> list[ProposedDrive]:
    if not pairs:
        return []
    driven = road.driven_between({stop.place for begin, _, end, _ in pairs for stop in (begin, end)})
    known = {frozenset((leg.origin, leg.destination)) for leg in driven}
    by_line = any(frozenset((a.place, b.place)) not in known and a.point and b.point for a, _, b, _ in pairs)
    factor = road.factor if by_line else Decimal(1)
    proposals = []
    for origin, origin_name, destination, name in pairs:
        [leg] = propose_legs([origin, destination], driven, factor, road.unit)
        proposals.append(_proposal(leg, origin_name, name, road.profile, factor))
    return proposals


def _proposal(
    leg: ProposedLeg, origin: str, destination: str, profile: Profile, factor: Decimal
) -> ProposedDrive:
    visit = leg.destination.visit
    at_home = is_home(origin) or is_home(destination)
    commuting = at_home and not profile.home_is_principal_place_of_business
    return ProposedDrive(
        key=str(visit.pk) if visit else HOME,
        origin=origin,
        destination=destination,
        distance=leg.distance,
        basis=leg.basis,
        purpose=Leg.Purpose.COMMUTING if commuting else Leg.Purpose.BUSINESS,
        reason="" if visit or commuting else DRIVE_HOME,
        visit=visit,
        factor=factor,
    )


def proposals_of(vehicle: Vehicle, on: date, profile: Profile) -> list[ProposedDrive]:
    """Return the proposals of one vehicle's day."""
    visits = list(vehicle.visits.filter(date=on).select_related("place").in_driving_order())
    reached = set(Leg.objects.filter(visit__in=visits).values_list("visit", flat=True))
    return propose_drives(visits, vehicle.legs.filter(date=on), RoadHistory(profile), reached)


def visits_without_leg(vehicle: Vehicle, begin: date, end: date) -> dict[date, list[Visit]]:
    """Return the done visits of a vehicle that no leg names, by day."""
    visits = vehicle.visits.done().filter(date__range=(begin, end), legs__isnull=True).select_related("place")
    table = defaultdict(list)
    for visit in visits.order_by("date", F("position").asc(nulls_last=True), "pk"):
        table[visit.date].append(visit)
    return dict(table)
