"""The units that distances are kept in, in words."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class DistanceUnit:
    """A unit of distance: what the book writes, the word for one, and the word for several.

    `far`: farther than that between two readings of an odometer is asked about once. `an_hour`: how far one
    comes in an hour on the roads between barns (a rule of thumb, no source). `small`: the unit that goes with
    it for what is measured on a hoof.
    """

    name: str
    one: str
    many: str
    far: Decimal
    an_hour: Decimal
    small: str


DISTANCE_UNITS = {
    unit.name: unit
    for unit in (
        DistanceUnit("mi", "mile", "miles", Decimal(1000), Decimal(35), "in"),
        DistanceUnit("km", "kilometer", "kilometers", Decimal(1600), Decimal(56), "mm"),
    )
}
