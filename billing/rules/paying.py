"""What pays: income, materials, distance and minutes of visits, shared among what they were for. Pure.

An estimate to think with, no account: shares are exact fractions, rounded only where they are shown.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

NONE = Fraction(0)
CLIENT, PLACE, HORSE, SERVICE = "client", "place", "horse", "service"


@dataclass(frozen=True)
class HorseEarnings:
    """One horse at one visit.

    `nets` are what each client pays for it, `services` the minutes of each service, `materials` what they
    cost. Keys may be anything hashable.
    """

    horse: Hashable
    nets: Mapping[Hashable, Fraction]
    services: Mapping[Hashable, Fraction]
    materials: Fraction = NONE

    @property
    def minutes(self) -> Fraction:
        return sum(self.services.values(), NONE)


@dataclass(frozen=True)
class VisitEarnings:
    """One visit: its horses, the distance driven for it, and its minutes where the clock says them."""

    key: Hashable
    place: Hashable
    served: tuple[HorseEarnings, ...]
    distance: Fraction = NONE
    clock: Fraction | None = None


@dataclass
class Earnings:
    """What something brought in and cost. Amounts in the practice's currency; minutes, distance."""

    income: Fraction = NONE
    materials: Fraction = NONE
    distance: Fraction = NONE
    minutes: Fraction = NONE
    visits: set = field(default_factory=set)

    def add(self, stop: Hashable, part: Fraction, of: "Earnings") -> None:
        self.income += of.income * part
        self.materials += of.materials * part
        self.distance += of.distance * part
        self.minutes += of.minutes * part
        self.visits.add(stop)

    def left(self, per_distance: Fraction) -> Fraction:
        """Return what is left of the income after materials and the drive."""
        return self.income - self.materials - self.distance * per_distance

    def an_hour(self, per_distance: Fraction) -> Fraction | None:
        """Return what is left for an hour of work; None where no minutes are known."""
        return self.left(per_distance) * 60 / self.minutes if self.minutes else None

    def a_distance(self) -> Fraction | None:
        """Return what is left after materials for a mile or kilometer driven; None where none was."""
        return (self.income - self.materials) / self.distance if self.distance else None


def shares(weights: Mapping[Hashable, Fraction]) -> dict[Hashable, Fraction]:
    """Return fractions of 1 in proportion to weights, equal where all are 0."""
    total = sum(weights.values(), NONE)
    return {
        key: Fraction(weight) / total if total else Fraction(1, len(weights))
        for key, weight in weights.items()
    }


def what_pays(stops: Iterable[VisitEarnings]) -> dict[str, dict[Hashable, Earnings]]:
    """Return sums by client, place, horse and service, and by visit under `visit`.

    The distance of a visit is shared equally among its horses, as the travel charge is; its minutes in
    proportion to those of the work. A horse's clients share in proportion to what they pay, its services
    in proportion to their minutes. Each view adds up to the same whole.
    """
    sums: dict[str, dict[Hashable, Earnings]] = defaultdict(lambda: defaultdict(Earnings))
    for stop in stops:
        minutes = shares({row.horse: row.minutes for row in stop.served})
        worked = sum((row.minutes for row in stop.served), NONE)
        clock = worked if stop.clock is None else stop.clock
        for row in stop.served:
            own = Earnings(
                income=sum(row.nets.values(), NONE),
                materials=row.materials,
                distance=stop.distance / len(stop.served),
                minutes=clock * minutes[row.horse],
            )
            whole = Fraction(1)
            sums["visit"][stop.key].add(stop.key, whole, own)
            sums[PLACE][stop.place].add(stop.key, whole, own)
            sums[HORSE][row.horse].add(stop.key, whole, own)
            for client, part in shares(row.nets).items():
                sums[CLIENT][client].add(stop.key, part, own)
            for service, part in shares(row.services).items():
                sums[SERVICE][service].add(stop.key, part, own)
    return {view: dict(rows) for view, rows in sums.items()}
