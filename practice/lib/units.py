"""The units that distances are kept in, in words."""

from dataclasses import dataclass


@dataclass(frozen=True)
class DistanceUnit:
    """A unit of distance: what the book writes, the word for one, and the word for several."""

    name: str
    one: str
    many: str


DISTANCE_UNITS = {
    unit.name: unit
    for unit in (DistanceUnit("mi", "mile", "miles"), DistanceUnit("km", "kilometer", "kilometers"))
}
