"""The miles of a visit: its drives, and its part of those that reached none."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from practice.rules.miles import DayLeg, VisitMiles, parts_back, parts_of_the_rest, visit_miles

D = Decimal


def miles(*legs: tuple) -> VisitMiles:
    """Legs as (distance, visit or None), business unless they say otherwise."""
    return visit_miles(DayLeg(D(leg[0]), leg[2:] != ("personal",), leg[1]) for leg in legs)


def test_a_visit_has_its_drive_and_its_part_of_the_drive_home():
    """18 home shared 10 : 20."""
    assert miles(("10", "a"), ("20", "b"), ("18", None)) == VisitMiles({"a": D("16.0"), "b": D("32.0")}, D(0))


def test_what_does_not_divide_goes_to_the_largest_remainder_and_ties_to_the_first():
    assert miles(("1", "a"), ("1", "b"), ("1", "c"), ("1.0", None)).visits == {
        "a": D("1.4"),
        "b": D("1.3"),
        "c": D("1.3"),
    }


def test_a_second_visit_at_the_same_place_has_no_part():
    assert miles(("10", "a"), ("0", "b"), ("10", None)).visits == {"a": 20, "b": 0}


def test_visits_that_all_took_no_drive_share_equally():
    assert miles(("0", "a"), ("0", "b"), ("5", None)).visits == {"a": D("2.5"), "b": D("2.5")}


def test_a_reach_driven_for_no_business_weighs_but_does_not_count():
    """The 30 to a were personal: its part of 20 home is three quarters."""
    assert miles(("30", "a", "personal"), ("10", "b"), ("20", None)).visits == {"a": 15, "b": 15}


def test_a_day_without_visits_has_unassigned_business_miles():
    assert miles(("4", None), ("3", None, "personal")) == VisitMiles({}, D(4))


LEGS = st.lists(
    st.builds(
        DayLeg,
        st.integers(0, 2000).map(lambda tenths: D(tenths) / 10),
        st.booleans(),
        st.sampled_from([None, None, "a", "b", "c"]),
    ),
    max_size=9,
)


@given(LEGS)
def test_visits_and_what_is_unassigned_add_up_to_the_days_business(legs):
    result = visit_miles(legs)

    assert sum(result.visits.values(), D(0)) + result.unassigned == sum(
        (leg.distance for leg in legs if leg.is_business), D(0)
    )
    assert min([*result.visits.values(), result.unassigned]) >= 0
    assert all(distance % D("0.1") == 0 for distance in result.visits.values())
    assert set(result.visits) == {leg.visit for leg in legs} - {None}


def test_the_way_back_is_shared_once_it_is_driven():
    there = [DayLeg(D(10), True, "a"), DayLeg(D(20), True, "b")]
    back = [DayLeg(D(18), True)]

    assert parts_back(there) == {"a": None, "b": None}
    assert parts_back(there + back) == {"a": D("6.0"), "b": D("12.0")}
    assert parts_back(back + there) == {"a": None, "b": None}


@given(LEGS)
def test_the_parts_of_the_way_back_are_what_a_visit_has_beside_its_own_drives(legs):
    result = visit_miles(legs).visits

    for visit, part in parts_of_the_rest(legs).items():
        own = [leg.distance for leg in legs if leg.visit == visit and leg.is_business]
        assert result[visit] == sum(own, D(0)) + part
