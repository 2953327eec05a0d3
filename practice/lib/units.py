"""The units that distances are kept in, in words."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class DistanceUnit:
    """A unit of distance: what the book writes, the word for one, and the word for several.

    `far`: farther than that between two readings of an odometer is asked about once.
    """

    name: str
    one: str
    many: str
    far: Decimal


DISTANCE_UNITS = {
    unit.name: unit
    for unit in (
        DistanceUnit("mi", "mile", "miles", Decimal(1000)),
        DistanceUnit("km", "kilometer", "kilometers", Decimal(1600)),
    )
}
