"""The shortest distance over the earth between two points. The one module that touches binary floats.

The library works in floats; its result is rounded to a Decimal at once.
"""

from decimal import Decimal
from functools import cache

MILLIMETRE = Decimal("0.001")
# Equatorial radius in meters and inverse flattening.
WGS84 = (Decimal(6_378_137), Decimal("298.257223563"))
METRES = {"mi": Decimal("1609.344"), "km": Decimal(1000)}
Point = tuple[Decimal, Decimal]


def geodesic_metres(begin: Point, end: Point, ellipsoid: tuple[Decimal, Decimal] = WGS84) -> Decimal:
    """Return the meters between two points (latitude, longitude in degrees), with three decimals."""
    line = _geodesic(ellipsoid).Inverse(*(float(degrees) for degrees in (*begin, *end)))
    return Decimal(line["s12"]).quantize(MILLIMETRE)


@cache
def _geodesic(ellipsoid: tuple[Decimal, Decimal]):
    from geographiclib.geodesic import Geodesic

    radius, inverse_flattening = ellipsoid
    return Geodesic(float(radius), float(1 / inverse_flattening))
