"""Drives proposed from the round, taken, fitted to the day's readings; jumps said what they were."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st

from practice.actions.drives import fill_gap, take_drives
from practice.actions.road import change_leg, log_leg, remove_leg, set_reading, set_readings
from practice.actions.vehicles import change_odometer, replace_vehicle
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, Vehicle, Visit
from practice.reports.drives import proposals_of
from practice.reports.odometers import vehicle_chain
from tests.factories.practice import (
    DAY,
    LegFactory,
    PlaceFactory,
    ProfileFactory,
    VehicleFactory,
    VisitFactory,
)
from tests.factories.stock import LocationFactory

pytestmark = pytest.mark.django_db
D = Decimal
EVENING = datetime(2026, 10, 14, 19, 5, tzinfo=UTC)
PAST = DAY - timedelta(42)


@pytest.fixture
def truck():
    """A truck with a round of two stops; the drives to and between them are known: 10, 20 and 12."""
    truck = VehicleFactory(name="Truck")
    barn, yard = PlaceFactory(name="Barn"), PlaceFactory(name="Yard")
    for origin, destination, distance in (("Home", "Barn", 10), ("Barn", "Yard", 20), ("Yard", "Home", 12)):
        LegFactory(vehicle=truck, date=PAST, distance=D(distance), origin=origin, destination=destination)
    for place in (barn, yard):
        VisitFactory(place=place, vehicle=truck, status="done")
    return truck


def proposed(truck) -> list[tuple]:
    rows = proposals_of(truck, DAY, Profile.current())
    return [(row.origin, row.destination, row.distance, row.basis.value, row.purpose) for row in rows]


def legs_of(truck) -> list[tuple]:
    rows = truck.legs.filter(date=DAY).order_by("pk")
    return [(leg.destination or leg.reason, leg.distance, leg.estimated) for leg in rows]


def gaps_of(truck) -> list[tuple]:
    gaps, faults = vehicle_chain(truck, DAY, DAY)
    assert faults == []
    return [(gap.begin, gap.end, gap.distance) for gap in gaps]


def test_the_drives_of_a_round_are_proposed_home_to_home(truck):
    assert proposed(truck) == [
        ("Home", "Barn", 10, "driven before", "business"),
        ("Barn", "Yard", 20, "driven before", "business"),
        ("Yard", "Home", 12, "driven before", "business"),
    ]
    assert not Leg.objects.filter(date=DAY).exists()


def test_where_home_is_not_the_principal_place_the_first_and_last_are_proposed_as_commuting(truck):
    """Rev. Rul. 99-7."""
    ProfileFactory(home_is_principal_place_of_business=False)

    assert [row[4] for row in proposed(truck)] == ["commuting", "business", "commuting"]


def test_a_place_never_driven_to_is_told_by_the_straight_line_or_not_at_all():
    """11.1 km between 45 and 45.1 north (WGS84, as in the geodesic cases), times 1.3."""
    ProfileFactory(distance_unit="km", home_latitude=D(45), home_longitude=D(-93))
    truck = VehicleFactory()
    for point in ({"latitude": D("45.1"), "longitude": D(-93)}, {}):
        VisitFactory(place=PlaceFactory(**point), vehicle=truck)

    assert [row[2:4] for row in proposed(truck)] == [
        (D("14.4"), "straight line"),
        (None, "unknown"),
        (None, "unknown"),
    ]


def test_an_estimate_is_no_experience(truck):
    LegFactory(vehicle=truck, date=PAST, distance=D(99), proposed=D(99), origin="Home", destination="barn")

    assert proposed(truck)[0][2] == 10


def test_what_is_taken_is_proposed_no_more(truck):
    first = proposals_of(truck, DAY, Profile.current())[0]

    take_drives(truck, DAY, first.key, written=EVENING)
    after_one = [row[1] for row in proposed(truck)]
    take_drives(truck, DAY, written=EVENING)

    assert (after_one, proposed(truck)) == (["Yard", "Home"], [])
    assert legs_of(truck) == [("Barn", 10, True), ("Yard", 20, True), ("Home", 12, True)]
    assert set(Leg.objects.filter(date=DAY).values_list("recorded_at", flat=True)) == {EVENING}
    with pytest.raises(RuleBroken, match="There is nothing to add"):
        take_drives(truck, DAY, written=EVENING)


def test_the_supplier_in_between_is_gone_on_from(truck):
    take_drives(truck, DAY, str(Visit.objects.first().pk), written=EVENING)
    said = {"purpose": "business", "reason": "nails", "distance": D(7)}
    log_leg(truck, DAY, origin="Barn", destination="Iron & Nail", **said)

    assert [row[:3] for row in proposed(truck)] == [("Iron & Nail", "Yard", None), ("Yard", "Home", 12)]


def test_a_visit_that_another_vehicle_reached_is_not_proposed(truck):
    LegFactory(visit=Visit.objects.first())

    assert [row[1] for row in proposed(truck)] == ["Yard", "Home"]


def test_taken_drives_follow_the_days_readings_whichever_comes_first(truck):
    take_drives(truck, DAY, written=EVENING)
    set_readings(truck, DAY, {"start": D("1000"), "end": D("1043.0")})
    after = legs_of(truck)
    set_reading(truck, DAY, "end", D("1041.0"))
    less = legs_of(truck)
    set_reading(truck, DAY, "end", None)

    assert [row[1] for row in after] == [D("10.2"), D("20.5"), D("12.3")]
    assert [row[1] for row in less] == [D("9.8"), D("19.5"), D("11.7")]
    assert [row[1] for row in legs_of(truck)] == [10, 20, 12]


def test_a_typed_distance_stands_and_the_others_make_room(truck):
    set_readings(truck, DAY, {"start": D("1000"), "end": D("1043.0")})
    first, *_ = take_drives(truck, DAY, written=EVENING)

    change_leg(first, {"distance": D("11.0")}, written=EVENING)

    assert legs_of(truck) == [("Barn", 11, False), ("Yard", 20, True), ("Home", 12, True)]


def test_what_lies_above_stays_not_logged_until_one_tap_says_that_it_was_personal(truck):
    take_drives(truck, DAY, written=EVENING)
    set_readings(truck, DAY, {"start": D("1000"), "end": D("1060.0")})
    before = (legs_of(truck), gaps_of(truck))

    fill_gap(truck, DAY, D("1060.0"), purpose="personal", written=EVENING)

    assert [row[1] for row in before[0]] == [D("10.5"), D("21.0"), D("12.6")]
    assert before[1] == [(D("1044.1"), D("1060"), D("15.9"))]
    assert legs_of(truck) == [*before[0], ("", D("15.9"), False)]
    assert gaps_of(truck) == []


def test_what_lies_below_is_refused_and_nothing_is_changed(truck):
    take_drives(truck, DAY, written=EVENING)
    set_reading(truck, DAY, "start", D("1000"))

    with pytest.raises(RuleBroken, match=r"The drives add up to 42\.0, but .* it is only 39\.0\."):
        set_reading(truck, DAY, "end", D("1039.0"))

    assert (truck.readings.count(), [row[1] for row in legs_of(truck)]) == (1, [10, 20, 12])


def test_a_jump_between_days_is_mended_with_its_two_readings(truck):
    set_reading(truck, DAY - timedelta(1), "end", D("84021.3"))
    set_reading(truck, DAY, "start", D("84034.9"))
    take_drives(truck, DAY, written=EVENING)
    set_reading(truck, DAY, "end", D("84076.9"))

    leg = fill_gap(truck, DAY, D("84034.9"), purpose="business", reason="a horse call", written=EVENING)

    assert (leg.start_odometer, leg.end_odometer) == (D("84021.3"), D("84034.9"))
    assert [row[1] for row in legs_of(truck)] == [10, 20, 12, D("13.6")]
    assert gaps_of(truck) == []


def test_a_part_of_a_jump_leaves_the_rest(truck):
    set_reading(truck, DAY - timedelta(1), "end", D("100"))
    set_reading(truck, DAY, "start", D("113.6"))

    fill_gap(truck, DAY, D("113.6"), purpose="personal", distance=D(3), written=EVENING)

    assert gaps_of(truck) == [(D("103"), D("113.6"), D("10.6"))]
    with pytest.raises(RuleBroken, match=r"Enter at most 10\.6"):
        fill_gap(truck, DAY, D("113.6"), purpose="personal", distance=D(11), written=EVENING)


def test_a_jump_between_legs_with_readings_is_filled_where_it_is(truck):
    for start, end in ((100, 110), (125, 130)):
        ends = {"start_odometer": D(start), "end_odometer": D(end)}
        log_leg(truck, DAY, purpose="personal", **ends)
    log_leg(truck, DAY, purpose="personal", distance=D(4))
    set_reading(truck, DAY, "end", D("140"))

    fill_gap(truck, DAY, D("125"), purpose="personal", written=EVENING)
    fill_gap(truck, DAY, D("140"), purpose="personal", written=EVENING)

    assert gaps_of(truck) == []


def test_a_mended_jump_taken_out_is_a_jump_again(truck):
    set_reading(truck, DAY - timedelta(1), "end", D("100"))
    set_reading(truck, DAY, "start", D("113.6"))
    leg = fill_gap(truck, DAY, D("113.6"), purpose="personal", written=EVENING)

    remove_leg(leg, written=EVENING)

    assert gaps_of(truck) == [(D("100"), D("113.6"), D("13.6"))]


def test_a_new_odometer_goes_on_from_the_old_one(truck):
    set_reading(truck, DAY, "start", D("84198.0"))
    change_odometer(truck, DAY, D("84208.0"), D("0.5"))

    set_reading(truck, DAY, "end", D("12.5"))

    assert gaps_of(truck) == [(D("84198"), D("84208"), 10), (D("0.5"), D("12.5"), 12)]
    with pytest.raises(RuleBroken, match="was changed on that day already"):
        change_odometer(truck, DAY, D("84208.0"), D("0.5"))


def test_legs_are_not_fitted_across_a_change_of_the_odometer(truck):
    set_reading(truck, DAY, "start", D("84198.0"))
    change_odometer(truck, DAY, D("84208.0"), D("0"))
    set_reading(truck, DAY, "end", D("35"))

    take_drives(truck, DAY, written=EVENING)

    assert [row[1] for row in legs_of(truck)] == [10, 20, 12]
    assert gaps_of(truck) == [(D("32"), D("35"), 3)]


def test_another_odometer_that_began_higher_than_the_old_one_is_kept_apart(truck):
    set_reading(truck, DAY, "start", D("84198.0"))
    change_odometer(truck, DAY, D("84198.0"), D("120000"))
    set_reading(truck, DAY, "end", D("120007"))

    assert gaps_of(truck) == [(D("120000"), D("120007"), 7)]


def test_a_vehicle_is_replaced(truck):
    stock = LocationFactory()
    truck.location = stock
    truck.save()
    set_reading(truck, DAY, "start", D("84198.0"))
    later = VisitFactory(vehicle=truck, date=DAY + timedelta(7))

    new = replace_vehicle(truck, DAY, last=D("84210"), name="Van", first=D("31.5"), written=EVENING)

    truck.refresh_from_db()
    later.refresh_from_db()
    assert (truck.archived, truck.location, new.location, later.vehicle) == (True, None, stock, new)
    assert list(new.readings.values_list("at", "reading")) == [("start", D("31.5"))]
    assert (new.placed_in_service, gaps_of(truck)) == (DAY, [(D("84198"), D("84210"), 12)])


def test_a_vehicle_is_not_replaced_below_its_last_reading(truck):
    set_reading(truck, DAY, "start", D("84198.0"))

    with pytest.raises(RuleBroken, match="is lower than the last reading"):
        replace_vehicle(truck, DAY, last=D("84100"), name="Van", first=D(0), written=EVENING)

    assert list(Vehicle.objects.values_list("name", "archived")) == [("Truck", False)]


@given(
    st.lists(st.integers(0, 400), min_size=1, max_size=6),
    st.lists(st.sampled_from(["taken", "typed", "read"]), min_size=6, max_size=6),
    st.integers(-30, 300),
)
def test_any_day_that_is_kept_adds_up_to_its_readings(tenths, kinds, more):
    """Legs, what is not logged: exactly the odometer's difference; no leg negative, taken ones in bounds."""
    with transaction.atomic():
        truck, odometer = VehicleFactory(), D(1000)
        set_reading(truck, DAY, "start", odometer)
        for tenth, kind in zip(tenths, kinds, strict=False):
            distance = D(tenth) / 10
            where = {"distance": distance, "estimated": kind == "taken"}
            if kind == "read":
                where = {"start_odometer": odometer, "end_odometer": odometer + distance}
            log_leg(truck, DAY, purpose="personal", **where)
            odometer += distance
        end = max(odometer + D(more) / 10, D(1000))
        try:
            set_reading(truck, DAY, "end", end)
        except RuleBroken:
            assert more < 0
            transaction.set_rollback(True)
            return
        rows, (gaps, faults) = list(truck.legs.all()), vehicle_chain(truck, DAY, DAY)
        transaction.set_rollback(True)

    distances = [leg.distance for leg in rows]
    assert (sum(distances) + sum(gap.distance for gap in gaps), faults) == (end - 1000, [])
    assert min(distances) >= 0
    taken = [leg for leg in rows if leg.estimated]
    free = sum((leg.proposed for leg in taken), D(0))
    assert abs(sum((leg.distance for leg in taken), D(0)) - free) <= max(free / 20, D(2))
