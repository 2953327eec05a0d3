"""Miles of a year and what they are worth. Worked by hand; rates are those of the book."""

from datetime import date
from decimal import Decimal

import pytest

from billing.reports.year.contract import Amounts, mileage_by_contract
from billing.reports.year.miles import miles_in
from billing.rules.mileage import Actual
from practice.lib.periods import tax_year
from practice.models import Leg, Reading
from tests.factories.practice import ProfileFactory, VehicleFactory

pytestmark = pytest.mark.django_db
D = Decimal


def drive(vehicle, on, distance, purpose="business"):
    Leg.objects.create(vehicle=vehicle, date=on, distance=D(distance), purpose=purpose)


def standard_rows(miles, currency="USD"):
    """Return (tier, distance, rate, amount, vehicle) of each row by the contract."""
    rows = mileage_by_contract(miles, Amounts(currency))["standard"]
    return [
        (row["tier_from"], row["distance"], row["rate"], row["amount"], row.get("vehicle")) for row in rows
    ]


def test_each_vehicle_has_its_own_business_share():
    """9,500 of 10,000 miles of 8,000.00 and 200 of 10,000 of 3,000.00 are 7,600.00 and 60.00."""
    truck, car = VehicleFactory(ref="truck"), VehicleFactory(ref="car")
    for vehicle, business in ((truck, "9500"), (car, "200")):
        drive(vehicle, date(2026, 5, 1), business)
        drive(vehicle, date(2026, 5, 2), str(10000 - int(business)), "personal")
    profile = ProfileFactory(mileage_scheme="us_standard")

    miles = miles_in(tax_year(2026, "US"), profile, {truck.pk: D(8000), car.pk: D(3000)}, D(0))

    shown = mileage_by_contract(miles, Amounts("USD"))
    assert [(row["costs"], row["business_share"], row["actual"]) for row in shown["vehicles"]] == [
        ("8000.00", "0.950000", "7600.00"),
        ("3000.00", "0.020000", "60.00"),
    ]
    assert shown["actual"] == {"costs": "11000.00", "business_share": "0.485000", "amount": "7660.00"}
    # 9,500 and 200 miles at 72.5 cents stand beside it.
    assert [row.standard for row in miles.vehicles] == [D("6887.50"), D("145.00")]
    assert miles.standard.total == D("7032.50")


def test_a_cost_that_names_no_vehicle_is_that_of_the_only_one_in_use():
    truck, parked = VehicleFactory(), VehicleFactory()
    drive(truck, date(2026, 5, 1), "30")
    drive(truck, date(2026, 5, 1), "10", "personal")
    costs = {None: D(100), truck.pk: D(20), parked.pk: D(55)}

    miles = miles_in(tax_year(2026, "US"), ProfileFactory(), costs, D(0))

    assert [row.actual for row in miles.vehicles] == [
        Actual(D(120), D("0.75"), D(90)),
        Actual(D(55), D(0), D(0)),
    ]
    assert miles.left_out == 0


def test_where_several_are_in_use_it_is_left_out():
    truck, car = VehicleFactory(), VehicleFactory()
    drive(truck, date(2026, 5, 1), "30")
    drive(car, date(2026, 5, 1), "10", "personal")

    miles = miles_in(tax_year(2026, "US"), ProfileFactory(), {None: D(100), truck.pk: D(20)}, D(0))

    assert miles.actual == Actual(D(20), D("0.75"), D(20))
    assert miles.left_out == D(100)


def test_without_two_readings_what_is_not_logged_is_unknown():
    """A reading before the year and one in it tell of 60 miles; one alone tells nothing."""
    read, once, never = VehicleFactory(ref="read"), VehicleFactory(ref="once"), VehicleFactory(ref="never")
    Reading.objects.create(vehicle=read, date=date(2025, 12, 30), at="end", reading=D(1000))
    Reading.objects.create(vehicle=read, date=date(2026, 6, 1), at="end", reading=D(1160))
    Reading.objects.create(vehicle=once, date=date(2026, 1, 2), at="start", reading=D(500))
    for vehicle in (read, once, never):
        drive(vehicle, date(2026, 5, 1), "100")

    shown = mileage_by_contract(
        miles_in(tax_year(2026, "US"), ProfileFactory(), {never.pk: D(40)}, D(0)), Amounts("USD")
    )

    assert [(row["unlogged"], row["actual"]) for row in shown["vehicles"]] == [
        ("60", "0.00"),
        (None, "0.00"),
        (None, "40.00"),
    ]
    assert (shown["unlogged"], shown["total"]) == ("60", "360")


def test_sixty_per_cent_is_the_share_of_business():
    """IRS Publication 463 (2025): 12,000 business of 20,000 miles = 60 %; of 5,000.00 that is 3,000.00."""
    truck = VehicleFactory()
    drive(truck, date(2025, 5, 1), "12000")
    drive(truck, date(2025, 5, 2), "7000", "personal")
    drive(truck, date(2025, 5, 3), "1000", "commuting")
    profile = ProfileFactory(mileage_scheme="us_standard")

    miles = miles_in(tax_year(2025, "US"), profile, {None: D(5000)}, D(35))

    assert miles.actual == Actual(D(5000), D("0.6"), D(3000))
    assert mileage_by_contract(miles, Amounts("USD"))["actual"] == {
        "costs": "5000.00",
        "business_share": "0.600000",
        "amount": "3000.00",
    }
    assert (miles.total, miles.parking_and_tolls) == (D(20000), D(35))


def test_british_miles_of_all_vehicles_fill_one_band():
    """gov.uk, Simplified expenses: 11,000 miles are 10,000 at 45p and 1,000 at 25p, 4,750.00."""
    van, car = VehicleFactory(), VehicleFactory()
    drive(van, date(2025, 4, 6), "6000")
    drive(car, date(2025, 9, 1), "5000")
    drive(car, date(2025, 4, 5), "777")
    profile = ProfileFactory(country="GB", mileage_scheme="uk_simplified", currency="GBP")

    miles = miles_in(tax_year(2025, "GB"), profile, {}, D(0))

    assert miles.standard.total == D(4750)
    # The van drove first: 6,000 at 45p; the car filled the band with 4,000 and went 1,000 above it.
    assert [row.standard for row in miles.vehicles] == [D(2700), D(2050)]
    assert standard_rows(miles, "GBP") == [
        ("0", "10000", "0.45", "4500.00", None),
        ("10000", "1000", "0.25", "250.00", None),
    ]


def test_australian_cars_have_rows_of_their_own():
    """ATO, cents per kilometre: 88 cents in 2024/25 and at most 5,000 km a car."""
    ute, car, idle = VehicleFactory(ref="ute"), VehicleFactory(ref="car"), VehicleFactory(ref="idle")
    drive(ute, date(2024, 7, 1), "5600")
    drive(car, date(2025, 6, 30), "100")
    drive(idle, date(2025, 6, 30), "100", "personal")
    profile = ProfileFactory(
        country="AU", mileage_scheme="au_cents_per_km", currency="AUD", distance_unit="km"
    )

    miles = miles_in(tax_year(2024, "AU"), profile, {}, D(0))

    assert standard_rows(miles, "AUD") == [
        ("0", "5000", "0.88", "4400.00", "ute"),
        ("5000", "600", "0", "0.00", "ute"),
        ("0", "100", "0.88", "88.00", "car"),
        ("5000", "0", "0", "0.00", "car"),
    ]
    assert [row["vehicle"] for row in mileage_by_contract(miles, Amounts("AUD"))["vehicles"]] == [
        "ute",
        "car",
        "idle",
    ]


def test_actual_costs_only_has_no_standard_rows():
    drive(VehicleFactory(), date(2026, 5, 1), "100")
    profile = ProfileFactory(country="DE", mileage_scheme="actual_only", currency="EUR")

    shown = mileage_by_contract(miles_in(tax_year(2026, "DE"), profile, {None: D(50)}, D(0)), Amounts("EUR"))

    assert (shown["standard"], shown["standard_total"], shown["actual"]["amount"]) == ([], "0.00", "50.00")
