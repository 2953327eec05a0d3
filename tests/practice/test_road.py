"""The odometer: what is not logged, what cannot be, and what a leg may say."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from practice.actions.road import log_leg, remove_leg, set_reading
from practice.lib.errors import RuleBroken
from practice.models import Leg, Reading
from practice.odometer import Drive, chain
from practice.odometer import Reading as Point
from tests.factories.practice import DAY, VehicleFactory, VisitFactory

D = Decimal


def drive(entry, distance, start=None, end=None, day=DAY):
    return Drive(
        entry, day, entry, D(distance), None if start is None else D(start), None if end is None else D(end)
    )


def test_not_logged_is_what_no_leg_accounts_for():
    points = [Point("a", DAY, "start", D("100")), Point("b", DAY, "end", D("130.5"))]

    gaps, faults = chain(points, [drive(1, "10"), drive(2, "15.5")])

    assert ([gap.distance for gap in gaps], faults) == ([D("5.0")], [])


def test_it_belongs_to_the_day_of_the_later_point():
    points = [Point("a", DAY, "end", D("100")), Point("b", DAY + timedelta(3), "start", D("112"))]

    gaps, _ = chain(points, [drive(1, "9", day=DAY + timedelta(1))])

    assert [(gap.date, gap.distance) for gap in gaps] == [(DAY + timedelta(3), 3)]


def test_a_leg_without_readings_stands_after_the_one_entered_before_it():
    rows = [drive(1, "5", "100", "105"), drive(2, "7"), drive(3, "8", "112", "120")]

    assert chain([], rows) == ([], [])


def test_a_leg_that_starts_before_the_last_one_ended_is_a_fault():
    _, faults = chain([], [drive(1, "5", "100", "105"), drive(2, "5", "104", "109")])

    assert [(fault.key, fault.reading, fault.last) for fault in faults] == [(2, 104, 105)]


@pytest.mark.django_db
def test_a_reading_lower_than_the_last_is_refused_with_the_last_one():
    truck = VehicleFactory()
    set_reading(truck, DAY, "start", D("84198.0"))

    with pytest.raises(RuleBroken) as error:
        set_reading(truck, DAY, "end", D("84190.0"))

    assert str(error.value) == (
        "84,190.0 on October 14 is lower than the book's last, 84,198.0 on October 14."
    )
    assert Reading.objects.get().reading == 84198


@pytest.mark.django_db
def test_a_leg_is_as_long_as_its_readings_say():
    leg = log_leg(VehicleFactory(), DAY, purpose="personal", start_odometer=D("10.0"), end_odometer=D("22.4"))

    assert leg.distance == D("12.4")


@pytest.mark.django_db
@pytest.mark.parametrize(
    "leg",
    [
        {"purpose": "personal"},
        {"purpose": "business", "distance": D(3)},
        {"purpose": "personal", "distance": D("3.25")},
        {"purpose": "personal", "distance": D(3), "start_odometer": D(1), "end_odometer": D(5)},
        {"purpose": "personal", "start_odometer": D(5), "end_odometer": D(1)},
    ],
)
def test_a_leg_that_cannot_be_is_refused(leg):
    with pytest.raises(RuleBroken):
        log_leg(VehicleFactory(), DAY, **leg)

    assert Leg.objects.count() == 0


@pytest.mark.django_db
def test_saving_a_leg_twice_gives_one_row():
    truck, key = VehicleFactory(), "0d7cd0b5-8a42-4d53-9a7e-0f2b0d4f7f11"

    rows = [log_leg(truck, DAY, purpose="personal", distance=D(3), uuid=key) for _ in range(2)]

    assert rows[0] == rows[1] and Leg.objects.count() == 1


@pytest.mark.django_db
def test_the_drive_of_an_invoiced_visit_stands():
    visit, truck = VisitFactory(), VehicleFactory()
    leg = log_leg(truck, DAY, purpose="business", distance=D(3), visit=visit)
    visit.status, visit.locked = "done", True
    visit.save()

    with pytest.raises(RuleBroken):
        remove_leg(leg)
    with pytest.raises(RuleBroken):
        log_leg(truck, DAY, purpose="business", distance=D(3), visit=visit)

    assert (Leg.objects.count(), leg.date) == (1, date(2026, 10, 14))
