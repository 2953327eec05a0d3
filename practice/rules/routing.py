"""The drives of a round: proposed from where it goes, fitted to the day's two readings. Pure.

Distances are in the practice's unit, to one decimal. Places are told apart by any key; `HOME` is
one. Nothing here is claimed: a proposal counts once somebody takes it.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from enum import Enum
from statistics import median

from practice.lib.errors import RuleBroken
from practice.lib.geodesic import METRES, Point, geodesic_metres
from practice.lib.shares import share_out

ZERO, TENTH = Decimal(0), Decimal("0.1")
HOME = "home"
# Straight line to road until the practice's own legs say better: common practice, no source.
USUAL_DETOUR, LEGS_TO_LEARN, THOUSANDTH = Decimal("1.3"), 10, Decimal("0.001")
# How far the sum of legs may be moved to fit the readings: 5 %, or this, whichever is more.
MOST_CHANGED, PERCENT_CHANGED = {"mi": Decimal(2), "km": Decimal(3)}, 5


class Basis(Enum):
    """What a proposed distance rests on."""

    SAME_PLACE = "same place"
    DRIVEN = "driven before"
    STRAIGHT = "straight line"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class RouteStop:
    """Where a round goes: the place's key and its point where known, and the visit that it is."""

    place: Hashable
    point: Point | None = None
    visit: Hashable = None


@dataclass(frozen=True)
class PastLeg:
    """A leg that was driven before. `measured`: its distance is what two readings say."""

    origin: Hashable
    destination: Hashable
    distance: Decimal
    measured: bool = False


@dataclass(frozen=True)
class ProposedLeg:
    """A leg of the round, and what its distance rests on; None where nothing says how far it is."""

    origin: RouteStop
    destination: RouteStop
    distance: Decimal | None
    basis: Basis


@dataclass(frozen=True)
class TakenLeg:
    """A leg that somebody took, with readings where they were. `typed`: its distance was, and stands."""

    distance: Decimal
    typed: bool = False
    start: Decimal | None = None
    end: Decimal | None = None

    @property
    def stands(self) -> bool:
        return self.typed or (self.start is not None and self.end is not None)


@dataclass(frozen=True)
class FittedLegs:
    """The legs' distances in order, fitted to the readings, and what is left: not logged."""

    distances: tuple[Decimal, ...]
    not_logged: Decimal


def place_names(places: Iterable[tuple[Hashable, str, str]]) -> dict[str, Hashable]:
    """Return which place a text means: each (key, ref, name), without regard to capitals.

    A ref goes before a name, the first before a later one of the same name; "home" is HOME.
    """
    places = list(places)
    names: dict[str, Hashable] = {HOME: HOME}
    for key, ref, _ in places:
        if ref:
            names.setdefault(ref.strip().casefold(), key)
    for key, _, name in places:
        names.setdefault(name.strip().casefold(), key)
    return names


def place_meant(names: Mapping[str, Hashable], text: str) -> Hashable | None:
    """Return the place that a leg's origin or destination means; None for another text."""
    return names.get(text.strip().casefold())


def is_home(text: str) -> bool:
    """Whether a leg's origin or destination means the practice's home."""
    return text.strip().casefold() == HOME


def propose_legs(
    stops: Sequence[RouteStop], driven: Iterable[PastLeg], factor: Decimal, unit: str
) -> list[ProposedLeg]:
    """Return the legs between stops in driving order (home, visits, home) with their likely distances.

    The median of what was driven between the same two places, either way, else the straight line
    times the detour factor. A second stop at the same place is a leg of 0. `driven` are legs that were
    measured or typed: estimated ones would only repeat what was proposed before.
    """
    medians = median_distances(driven)
    legs = []
    for origin, destination in zip(stops, stops[1:], strict=False):
        distance, basis = _likely(origin, destination, medians, factor, unit)
        legs.append(ProposedLeg(origin, destination, distance, basis))
    return legs


def _likely(
    origin: RouteStop, destination: RouteStop, medians: Mapping, factor: Decimal, unit: str
) -> tuple[Decimal | None, Basis]:
    if origin.place == destination.place:
        return ZERO, Basis.SAME_PLACE
    known = medians.get(frozenset((origin.place, destination.place)))
    if known is not None:
        return known, Basis.DRIVEN
    if origin.point and destination.point:
        straight = geodesic_metres(origin.point, destination.point) / METRES[unit]
        return to_tenth(straight * factor), Basis.STRAIGHT
    return None, Basis.UNKNOWN


def median_distances(driven: Iterable[PastLeg]) -> dict[frozenset, Decimal]:
    """Return the median distance between each two places, both ways together, to 0.1."""
    between = defaultdict(list)
    for leg in driven:
        if leg.origin != leg.destination:
            between[frozenset((leg.origin, leg.destination))].append(leg.distance)
    return {places: to_tenth(median(distances)) for places, distances in between.items()}


def detour_factor(driven: Iterable[PastLeg], points: Mapping[Hashable, Point], unit: str) -> Decimal:
    """Return how much longer roads are than straight lines: the median of the practice's measured legs.

    1.3 until there are ten such legs between places whose points are known; never below 1.
    """
    ratios = []
    for leg in driven:
        begin, end = points.get(leg.origin), points.get(leg.destination)
        if leg.measured and begin and end and leg.distance:
            straight = geodesic_metres(begin, end) / METRES[unit]
            if straight:
                ratios.append(leg.distance / straight)
    if len(ratios) < LEGS_TO_LEARN:
        return USUAL_DETOUR
    return max(Decimal(1), median(ratios).quantize(THOUSANDTH, rounding=ROUND_HALF_UP))


def fit_legs(legs: Sequence[TakenLeg], start: Decimal, end: Decimal, unit: str) -> FittedLegs:
    """Return the legs of a day, in driving order, fitted to its two readings.

    Typed distances and those with two readings stand. The others are changed in proportion, to 0.1
    by largest remainder, between the readings that they lie between; their sum changes by at most 5 %
    or 2 miles (3 km), whichever is more. What is above is not logged.

    Raises RuleBroken for what is below: legs longer than the readings leave room for.
    """
    free = sum((leg.distance for leg in legs if not leg.stands), ZERO)
    room = to_tenth_below(max(free * PERCENT_CHANGED / 100, MOST_CHANGED[unit]))
    growth = shrinkage = room
    distances, not_logged = [leg.distance for leg in legs], ZERO
    for stretch in stretches(legs, start, end):
        loose = [n for n in stretch.legs if not legs[n].stands]
        before = sum((legs[n].distance for n in loose), ZERO)
        standing = sum((legs[n].distance for n in stretch.legs if legs[n].stands), ZERO)
        wanted = stretch.end - stretch.begin - standing
        if wanted < before - shrinkage or wanted < 0:
            raise RuleBroken("drives_too_long", _too_long(stretch, standing + before))
        after = min(wanted, before + growth) if before else ZERO
        growth -= max(ZERO, after - before)
        shrinkage -= max(ZERO, before - after)
        not_logged += wanted - after
        for n, distance in zip(loose, _fit([legs[n].distance for n in loose], after), strict=True):
            distances[n] = distance
    for n, leg in enumerate(legs):
        if leg.start is not None and leg.end is not None:
            distances[n] = leg.end - leg.start
    return FittedLegs(tuple(distances), not_logged)


def _fit(distances: Sequence[Decimal], total: Decimal) -> list[Decimal]:
    if not total:
        return [ZERO] * len(distances)
    return [part * TENTH for part in share_out(int(total / TENTH), distances)]


def _too_long(stretch: "OdometerStretch", driven: Decimal) -> str:
    return (
        f"The drives add up to {driven:,.1f}, but from {stretch.begin:,.1f} to {stretch.end:,.1f} it is only"
        f" {stretch.end - stretch.begin:,.1f}. Check the readings, or enter what was driven."
    )


@dataclass(frozen=True)
class OdometerStretch:
    """What lies between two points of the odometer: the numbers of the legs driven there."""

    begin: Decimal
    end: Decimal
    legs: tuple[int, ...] = ()


def stretches(legs: Sequence[TakenLeg], start: Decimal, end: Decimal) -> list[OdometerStretch]:
    """Return a day cut at each reading of its legs; a leg with two readings is a stretch in none of them."""
    found, now = [], OdometerStretch(start, start)
    for n, leg in enumerate(legs):
        if leg.start is not None:
            found.append(replace(now, end=leg.start))
            now = OdometerStretch(leg.start, leg.start)
        if leg.start is not None and leg.end is not None:
            now = OdometerStretch(leg.end, leg.end)
            continue
        now = replace(now, legs=(*now.legs, n))
        if leg.end is not None:
            found.append(replace(now, end=leg.end))
            now = OdometerStretch(leg.end, leg.end)
    return [*found, replace(now, end=end)]


def to_tenth(distance: Decimal) -> Decimal:
    """Return a distance to one decimal, half away from zero."""
    return distance.quantize(TENTH, rounding=ROUND_HALF_UP)


def to_tenth_below(distance: Decimal) -> Decimal:
    return distance // TENTH * TENTH
