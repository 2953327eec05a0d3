"""The shortest distance over the earth, against published lines."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from practice.lib.geodesic import METRES, geodesic_metres

D = Decimal
# Equatorial radius in meters and inverse flattening (from memory).
GRS80 = (D(6_378_137), D("298.257222101"))


def degrees(sign: int, whole: int, minutes: int, seconds: str) -> Decimal:
    return sign * (whole + D(minutes) / 60 + D(seconds) / 3600)


def test_flinders_peak_to_buninyong_is_as_geoscience_australia_publishes_it():
    """Geoscience Australia's worked example on GRS80: 54,972.271 m."""
    peak = degrees(-1, 37, 57, "03.72030"), degrees(1, 144, 25, "29.52440")
    buninyong = degrees(-1, 37, 39, "10.15610"), degrees(1, 143, 55, "35.38390")

    assert geodesic_metres(peak, buninyong, GRS80) == D("54972.271")


def test_wellington_to_salamanca_is_as_the_library_documents_it():
    """GeographicLib documentation, WGS84: 19,959,679.267 m."""
    wellington, salamanca = (D("-41.32"), D("174.81")), (D("40.96"), D("-5.50"))

    assert geodesic_metres(wellington, salamanca) == D("19959679.267")


def test_a_mile_has_1609_metres_and_344_millimetres():
    """International yard and pound agreement, 1959 (from memory): exactly."""
    assert {"mi": D("1609.344"), "km": D(1000)} == METRES


LATITUDES, LONGITUDES = st.decimals(-90, 90, places=6), st.decimals(-180, 180, places=6)
POINTS = st.tuples(LATITUDES, LONGITUDES)


@given(POINTS, POINTS)
def test_a_line_is_as_long_there_as_back_and_a_decimal_to_the_millimetre(begin, end):
    there = geodesic_metres(begin, end)

    assert there == geodesic_metres(end, begin)
    assert 0 <= there <= D("20003931.459")  # half a meridian of WGS84 is the longest (from memory)
    assert there.as_tuple().exponent == -3
