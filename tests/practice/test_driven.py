"""What vehicles drove in a year. Worked by hand."""

from datetime import date
from decimal import Decimal

import pytest

from practice.lib.periods import tax_year
from practice.models import Leg, Reading
from practice.reports.driven import VehicleDistances, driven_in
from practice.rules.odometer import Gap
from tests.factories.practice import OdometerChangeFactory, VehicleFactory

pytestmark = pytest.mark.django_db
D = Decimal
YEAR = tax_year(2026, "US")


def leg(vehicle, on, distance, purpose="business", start=None):
    end = None if start is None else D(start) + D(distance)
    start = None if start is None else D(start)
    Leg.objects.create(
        vehicle=vehicle,
        date=on,
        distance=D(distance),
        purpose=purpose,
        start_odometer=start,
        end_odometer=end,
    )


def reading(vehicle, on, at, value):
    Reading.objects.create(vehicle=vehicle, date=on, at=at, reading=D(value))


def test_a_jump_over_new_year_belongs_to_the_year_of_its_later_point():
    """1,000.0 on December 30; 8.0 of the 20.0 up to January 2 are written down: 12.0 are not logged."""
    truck = VehicleFactory()
    reading(truck, date(2025, 12, 30), "end", "1000")
    leg(truck, date(2025, 12, 31), "8")
    reading(truck, date(2026, 1, 2), "start", "1020")
    leg(truck, date(2026, 1, 2), "15.5")
    leg(truck, date(2026, 1, 2), "4", "personal")
    reading(truck, date(2026, 1, 2), "end", "1040")

    assert driven_in(YEAR) == [
        VehicleDistances(
            vehicle=truck,
            business=D("15.5"),
            commuting=D(0),
            personal=D(4),
            gaps=(Gap(date(2026, 1, 2), D(12)), Gap(date(2026, 1, 2), D("0.5"))),
            first_odometer=D(1000),
            last_odometer=D(1040),
            first_read=date(2025, 12, 30),
            last_read=date(2026, 1, 2),
            business_by_day=((date(2026, 1, 2), D("15.5")),),
            is_measured=True,
        )
    ]
    assert [row.unlogged for row in driven_in(tax_year(2025, "US"))] == [D(0)]


def test_without_readings_there_is_no_odometer():
    truck = VehicleFactory()
    leg(truck, date(2026, 6, 1), "15.5", "commuting")

    [row] = driven_in(YEAR)

    assert (row.first_odometer, row.last_odometer, row.commuting, row.total) == (None, None, 15.5, 15.5)


def test_the_ends_of_legs_are_readings_too():
    truck = VehicleFactory()
    leg(truck, date(2026, 6, 1), "10", start="500")
    leg(truck, date(2026, 6, 8), "10", start="517")

    [row] = driven_in(YEAR)

    assert (row.first_odometer, row.last_odometer, row.unlogged) == (D(500), D(527), D(7))


def test_only_vehicles_with_a_leg_or_a_reading_in_the_year_are_listed():
    VehicleFactory()
    before, after, truck = VehicleFactory(), VehicleFactory(), VehicleFactory()
    reading(before, date(2025, 12, 31), "end", "1")
    leg(after, date(2027, 1, 1), "1")
    reading(truck, date(2026, 12, 31), "end", "77.7")

    [row] = driven_in(YEAR)

    assert (row.vehicle, row.first_odometer, row.last_odometer) == (truck, D("77.7"), D("77.7"))


def test_another_odometer_in_the_year_is_no_jump():
    """10.0 up to the change by the old odometer, all written down; 3.0 of 15.0 by the new one are not."""
    truck = VehicleFactory()
    reading(truck, date(2026, 3, 1), "end", "84198")
    OdometerChangeFactory(vehicle=truck, date=date(2026, 3, 2), last=D("84208"), first=D("0"))
    leg(truck, date(2026, 3, 2), "10")
    leg(truck, date(2026, 3, 2), "12")
    reading(truck, date(2026, 3, 2), "end", "15")

    [row] = driven_in(YEAR)

    assert (row.unlogged, row.first_odometer, row.last_odometer) == (D(3), D(84198), D(15))
