"""The drives of a round: proposed, and fitted to the day's two readings."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.lib.errors import RuleBroken
from practice.rules.routing import (
    HOME,
    Basis,
    FittedLegs,
    PastLeg,
    RouteStop,
    TakenLeg,
    detour_factor,
    fit_legs,
    place_meant,
    place_names,
    propose_legs,
)

D = Decimal
# A minute of latitude is a bit more than a nautical mile: 1,852 m.
AT = {HOME: (D(45), D(-93)), "barn": (D("45.1"), D(-93)), "yard": (D("45.2"), D(-93))}


def proposed(*places, driven=(), factor="1.3", unit="km", at=AT):
    """The (distance, basis) of each leg of a round by its places."""
    legs = propose_legs([RouteStop(place, at.get(place)) for place in places], driven, D(factor), unit)
    return [(leg.distance, leg.basis) for leg in legs]


def test_a_leg_is_as_long_as_the_median_of_those_driven_between_its_places_either_way():
    driven = [
        PastLeg(HOME, "barn", D("12.0")),
        PastLeg("barn", HOME, D("12.6")),
        PastLeg(HOME, "barn", D("31.0")),
        PastLeg(HOME, "yard", D("1.0")),
    ]

    assert proposed(HOME, "barn", HOME, driven=driven) == [(D("12.6"), Basis.DRIVEN)] * 2


def test_the_median_of_two_lies_between_them_to_a_tenth():
    driven = [PastLeg(HOME, "barn", D("12.0")), PastLeg(HOME, "barn", D("12.1"))]

    assert proposed(HOME, "barn", driven=driven) == [(D("12.1"), Basis.DRIVEN)]


def test_a_leg_never_driven_is_the_straight_line_times_the_detour():
    """From 45° to 45.1° north are 11,113.4 m (WGS84 meridian arc, computed): 11.1 km, 14.4 by road."""
    assert proposed(HOME, "barn", factor="1") == [(D("11.1"), Basis.STRAIGHT)]
    assert proposed(HOME, "barn") == [(D("14.4"), Basis.STRAIGHT)]
    assert proposed(HOME, "barn", unit="mi") == [(D("9.0"), Basis.STRAIGHT)]


def test_a_second_stop_at_the_same_place_is_a_leg_of_0():
    driven = [PastLeg("barn", "barn", D(3))]

    assert proposed("barn", "barn", driven=driven) == [(D(0), Basis.SAME_PLACE)]


def test_a_leg_that_nothing_tells_the_length_of_has_none():
    assert proposed(HOME, "field", "barn") == [(None, Basis.UNKNOWN)] * 2


def test_a_round_without_a_stop_has_no_leg():
    assert (proposed(HOME), proposed()) == ([], [])


def measured(count: int, distance: str, **more) -> list[PastLeg]:
    return [PastLeg(HOME, "barn", D(distance), **{"measured": True} | more)] * count


def test_the_detour_is_the_usual_one_until_there_are_ten_measured_legs():
    """1.3: common practice, no source. The straight line is 11.1134 km."""
    assert detour_factor(measured(9, "16.7"), AT, "km") == D("1.3")
    assert detour_factor(measured(10, "16.7"), AT, "km") == D("1.503")
    assert detour_factor(measured(10, "16.7", measured=False), AT, "km") == D("1.3")
    assert detour_factor(measured(10, "16.7"), {HOME: AT[HOME]}, "km") == D("1.3")


def test_one_long_way_round_does_not_change_the_detour():
    assert detour_factor([*measured(10, "16.7"), *measured(1, "99.0")], AT, "km") == D("1.503")


def test_roads_are_never_shorter_than_straight_lines():
    assert detour_factor(measured(10, "9.0"), AT, "km") == D(1)


def test_a_place_is_meant_by_its_ref_or_its_name():
    names = place_names([(1, "b1", "Long Barn"), (2, "", "Yard"), (3, "", "b1"), (4, "", "Yard")])

    meant = [place_meant(names, text) for text in ("B1", " long barn", "yard", "Home", "feed store", "")]

    assert meant == [1, 1, 2, HOME, None, None]


def fitted(*legs: str | TakenLeg, start="1000", end: str, unit="mi") -> tuple[list[str], str]:
    """Fit legs, bare distances being taken ones, to readings; distances and what is not logged as text."""
    taken = [leg if isinstance(leg, TakenLeg) else TakenLeg(D(leg)) for leg in legs]
    result = fit_legs(taken, D(start), D(end), unit)
    return [str(distance) for distance in result.distances], str(result.not_logged)


def test_legs_are_fitted_in_proportion_to_a_tenth():
    assert fitted("10.0", "20.0", "10.0", end="1041.1") == (["10.3", "20.5", "10.3"], "0.0")
    assert fitted("10.0", "20.0", "10.0", end="1039.0") == (["9.8", "19.5", "9.7"], "0.0")


def test_what_lies_above_the_bound_is_not_logged():
    assert fitted("10.0", "20.0", end="1047.5") == (["10.7", "21.3"], "15.5")


@pytest.mark.parametrize(
    ("sum_of_legs", "unit", "most"),
    [("40.0", "mi", "42.0"), ("60.0", "mi", "63.0"), ("61.0", "mi", "64.0"), ("50.0", "km", "53.0")],
)
def test_legs_change_by_5_percent_or_2_miles_or_3_kilometres(sum_of_legs, unit, most):
    distances, not_logged = fitted(sum_of_legs, end="1100.0", unit=unit)

    assert (distances, D(not_logged)) == ([most], 100 - D(most))


def test_legs_longer_than_the_readings_allow_are_an_error():
    message = (
        r"The drives add up to 40\.0, but from 1,000\.0 to 1,037\.9 it is only 37\.9\."
        r" Check the readings, or enter what was driven\."
    )
    with pytest.raises(RuleBroken, match=message):
        fitted("20.0", "20.0", end="1037.9")


def test_typed_distances_stand_and_the_others_make_room():
    typed = TakenLeg(D("15.0"), typed=True)

    assert fitted("10.0", typed, "10.0", end="1034.0") == (["9.5", "15.0", "9.5"], "0.0")


def test_typed_distances_above_the_readings_are_an_error():
    with pytest.raises(RuleBroken, match=r"add up to 15\.0"):
        fitted(TakenLeg(D("15.0"), typed=True), end="1014.9")


def test_legs_are_fitted_between_the_readings_that_they_lie_between():
    """20.5 before the measured leg and 9.5 after it; the odometer never runs backwards."""
    read = TakenLeg(D("5.0"), start=D("1020.5"), end=D("1025.5"))

    assert fitted("20.0", read, "10.0", end="1035.0") == (["20.5", "5.0", "9.5"], "0.0")


def test_a_leg_with_one_reading_begins_or_ends_a_stretch():
    begins = TakenLeg(D("10.0"), start=D("1021.0"))
    ends = TakenLeg(D("20.0"), end=D("1021.0"))

    assert fitted("20.0", begins, end="1031.0") == (["21.0", "10.0"], "0.0")
    assert fitted(ends, "10.0", end="1031.0") == (["21.0", "10.0"], "0.0")


def test_a_day_without_legs_is_not_logged_at_all():
    assert fitted(end="1012.3") == ([], "12.3")
    assert fitted("0.0", end="1012.3") == (["0"], "12.3")


def test_readings_that_run_backwards_are_an_error():
    with pytest.raises(RuleBroken):
        fitted("1.0", end="999.0")


@st.composite
def days(draw):
    """A day: legs of which some were typed and some read, and an end reading near what they add up to."""
    unit = draw(st.sampled_from(["mi", "km"]))
    odometer, legs = D(draw(st.integers(0, 9_999_999))) / 10, []
    start = odometer
    for tenths in draw(st.lists(st.integers(0, 900), max_size=7)):
        distance = D(tenths) / 10
        kind = draw(st.sampled_from(["taken", "taken", "typed", "read"]))
        odometer += D(draw(st.integers(-15, 30))) / 10
        if kind == "read" and odometer >= start:
            legs.append(TakenLeg(distance, start=odometer, end=odometer + distance))
        else:
            legs.append(TakenLeg(distance, typed=kind == "typed"))
        odometer += distance
    return legs, start, odometer + D(draw(st.integers(-60, 200))) / 10, unit


@given(days())
def test_fitted_legs_and_what_is_not_logged_add_up_to_the_readings(day):
    legs, start, end, unit = day
    free = sum((leg.distance for leg in legs if not leg.stands), D(0))

    try:
        result = fit_legs(legs, start, end, unit)
    except RuleBroken:
        return

    assert sum(result.distances, D(0)) + result.not_logged == end - start
    assert min([*result.distances, result.not_logged]) >= 0
    assert all(distance % D("0.1") == 0 for distance in result.distances)
    pairs = list(zip(legs, result.distances, strict=True))
    assert all(fitted == leg.distance for leg, fitted in pairs if leg.stands)
    after = sum((fitted for leg, fitted in pairs if not leg.stands), D(0))
    assert abs(after - free) <= max(free * 5 / 100, {"mi": D(2), "km": D(3)}[unit])


@given(st.lists(st.integers(1, 900), min_size=1, max_size=7), st.integers(-20, 200))
def test_a_day_within_its_bounds_is_always_fitted(tenths, more):
    """Up to 2 miles less than the legs say, or any distance more."""
    legs = [TakenLeg(D(n) / 10) for n in tenths]
    driven = max(D(0), D(sum(tenths) + more) / 10)

    result = fit_legs(legs, D(100), D(100) + driven, "mi")

    assert isinstance(result, FittedLegs) and sum(result.distances) + result.not_logged == driven
    assert bool(result.not_logged) == (driven > sum(leg.distance for leg in legs) + room(legs))


def room(legs: list[TakenLeg]) -> Decimal:
    return max(D(2), sum(leg.distance for leg in legs) / 20 // D("0.1") * D("0.1"))
