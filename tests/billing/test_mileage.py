"""Miles times rates, and the actual costs beside them. Rates and sources: billing/data/mileage_rates.csv."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.known_rates import known_rates
from billing.rules.mileage import (
    Actual,
    BusinessDay,
    Standard,
    StandardRow,
    actual_cost,
    most_at_once,
    standard,
)
from billing.rules.mileage_rates import Rate
from practice.lib.countries import ACTUAL_ONLY, AU_CENTS_PER_KM, UK_SIMPLIFIED, US_STANDARD, MileageScheme
from practice.lib.money import round_money
from practice.lib.periods import tax_year

D = Decimal
US, UK, AU = US_STANDARD, UK_SIMPLIFIED, AU_CENTS_PER_KM
OF = {US: ("US", "mi", "USD"), UK: ("GB", "mi", "GBP"), AU: ("AU", "km", "AUD")}


def rates_of(scheme: MileageScheme) -> list[Rate]:
    return [row.as_rate for row in known_rates() if row.scheme == scheme.name]


def worked(
    scheme: MileageScheme, year: int, *miles: tuple[date, str], vehicle="truck", rates=None
) -> Standard:
    """What (day, distance) pairs are worth in a tax year of the scheme's own country."""
    country, unit, currency = OF[scheme]
    days = [BusinessDay(day, vehicle, D(distance)) for day, distance in miles]
    found = rates_of(scheme) if rates is None else rates
    return standard(scheme, days, found, tax_year(year, country), unit, currency)


def brief(result: Standard) -> list[tuple]:
    return [(str(row.distance), str(row.rate), str(row.amount)) for row in result.rows]


def test_eleven_thousand_british_miles_are_worth_4750_pounds():
    """gov.uk, Simplified expenses: vehicles: 10,000 at 45p and 1,000 at 25p."""
    result = worked(UK, 2025, (date(2025, 6, 1), "10900"), (date(2026, 4, 5), "100"))

    assert brief(result) == [("10000", "0.45", "4500.00"), ("1000", "0.25", "250.00")]
    assert result.total == D("4750.00")


def test_all_british_cars_and_vans_share_one_band_of_ten_thousand_miles():
    """HMRC BIM47701: one band for all the trader's cars and vans (from memory)."""
    days = [
        BusinessDay(date(2025, 6, 1), "van", D(7000)),
        BusinessDay(date(2025, 5, 1), "car", D(4000)),
    ]

    result = standard(UK, days, rates_of(UK), tax_year(2025, "GB"), "mi", "GBP")

    assert brief(result) == [("10000", "0.45", "4500.00"), ("1000", "0.25", "250.00")]


def test_the_british_band_begins_anew_on_the_6th_of_april():
    miles = [(date(2026, 4, 5), "10000"), (date(2026, 4, 6), "10000")]

    assert worked(UK, 2025, *miles).total == D("4500.00")
    assert worked(UK, 2026, *miles).total == D("5500.00")  # 55p since 6 April 2026


@pytest.mark.parametrize(
    ("year", "before", "after"),
    [(2011, "0.51", "0.555"), (2022, "0.585", "0.625"), (2026, "0.725", "0.76")],
)
def test_the_american_rate_changed_in_the_middle_of_three_years(year, before, after):
    """IRS Announcements 2011-40, 2022-13 and 2026-11: from July 1."""
    result = worked(US, year, (date(year, 6, 30), "100"), (date(year, 7, 1), "10"))

    assert [(row.begin, row.end, row.distance, str(row.rate)) for row in result.rows] == [
        (date(year, 1, 1), date(year, 6, 30), D(100), before),
        (date(year, 7, 1), date(year, 12, 31), D(10), after),
    ]
    assert result.total == D(before) * 100 + D(after) * 10


def test_a_year_without_a_mile_still_shows_its_rates():
    assert brief(worked(US, 2026)) == [("0", "0.725", "0.00"), ("0", "0.76", "0.00")]
    assert brief(worked(UK, 2025)) == [("0", "0.45", "0.00"), ("0", "0.25", "0.00")]


def test_an_australian_car_is_paid_for_5000_kilometres_and_each_car_by_itself():
    """ATO, cents per kilometre (QC33712): 5,000 business km per car and income year."""
    days = [
        BusinessDay(date(2025, 8, 1), "ute", D(6200)),
        BusinessDay(date(2025, 9, 1), "wagon", D(1000)),
        BusinessDay(date(2025, 9, 2), "shed", D(0)),
    ]

    result = standard(AU, days, rates_of(AU), tax_year(2025, "AU"), "km", "AUD")

    assert [(row.vehicle, *parts) for row, parts in zip(result.rows, brief(result), strict=True)] == [
        ("ute", "5000", "0.88", "4400.00"),
        ("ute", "1200", "0.00", "0.00"),
        ("wagon", "1000", "0.88", "880.00"),
        ("wagon", "0", "0.00", "0.00"),
    ]
    assert result.total == D("5280.00")


def test_an_australian_year_without_business_kilometres_has_no_row():
    assert worked(AU, 2025) == Standard()


def test_actual_costs_only_multiplies_nothing():
    miles = [BusinessDay(date(2026, 3, 1), "truck", D(100))]

    assert standard(ACTUAL_ONLY, miles, [], tax_year(2026, "US"), "mi", "USD") == Standard()


def test_the_last_known_rate_goes_on_in_a_row_of_its_own():
    rates = [Rate(date(2026, 1, 1), date(2026, 6, 30), D(0), D("0.725"))]

    result = worked(US, 2026, (date(2026, 6, 30), "10"), (date(2026, 7, 1), "20"), rates=rates)

    assert result.rows == (
        StandardRow(date(2026, 1, 1), date(2026, 6, 30), D(0), D(10), D("0.725"), D("7.25"), False),
        StandardRow(date(2026, 7, 1), date(2026, 12, 31), D(0), D(20), D("0.725"), D("14.50"), True),
    )
    assert result.provisional


def test_the_year_after_the_last_known_american_rate_is_provisional():
    result = worked(US, 2027, (date(2027, 5, 1), "100"))

    assert [(row.rate, row.amount, row.carried) for row in result.rows] == [(D("0.76"), D("76.00"), True)]


def test_a_year_with_known_rates_is_not_provisional():
    assert not worked(US, 2026, (date(2026, 12, 31), "100")).provisional


def test_the_tier_of_a_year_fills_on_across_a_change_of_rate():
    rates = [
        Rate(date(2026, 4, 6), None, D(0), D("0.45")),
        Rate(date(2026, 4, 6), None, D(10000), D("0.25")),
        Rate(date(2026, 10, 1), None, D(0), D("0.55")),
    ]

    result = worked(UK, 2026, (date(2026, 9, 30), "9000"), (date(2026, 10, 1), "3000"), rates=rates)

    assert brief(result) == [
        ("9000", "0.45", "4050.00"),
        ("0", "0.25", "0.00"),
        ("1000", "0.55", "550.00"),
        ("2000", "0.25", "500.00"),
    ]


def test_miles_before_the_first_known_rate_are_worth_nothing_and_named():
    result = worked(US, 2010, (date(2010, 5, 1), "12.3"))

    assert result == Standard(without_rate=D("12.3"))


def test_each_row_is_rounded_once():
    """Three days of 0.7 at 0.725 are 1.5225 together, 0.51 each by themselves."""
    days = [(date(2026, 3, day), "0.7") for day in (1, 2, 3)]

    assert worked(US, 2026, *days).total == D("1.52")


def test_kilometres_in_the_book_are_paid_by_the_mile():
    """1 mile = 1.609344 km: 160.9344 km are 100 miles. The band ends at 16,093.44 km."""
    miles = [BusinessDay(date(2026, 7, 1), "truck", D("160.9344"))]

    us = standard(US, miles, rates_of(US), tax_year(2026, "US"), "km", "USD")
    uk = standard(UK, [], rates_of(UK), tax_year(2025, "GB"), "km", "GBP")

    assert (us.total, us.rows[1].distance, us.rows[1].rate_unit) == (D("76.00"), D("160.9344"), "mi")
    assert [row.tier_from for row in uk.rows] == [D(0), D("16093.44")]


def test_a_row_has_the_keys_of_the_contract():
    row = worked(US, 2024, (date(2024, 5, 1), "100")).rows[0]

    assert row.by_contract() == {
        "from": date(2024, 1, 1),
        "to": date(2024, 12, 31),
        "tier_from": D(0),
        "distance": D(100),
        "rate": D("0.67"),
        "amount": D("67.00"),
        "carried": False,
        "vehicle": None,
    }


FIVE = ("car", "van 1", "van 2", "van 3", "van 4")


def test_a_car_with_four_vans_in_use_at_once_has_no_standard_rate():
    """IRS Publication 463, example: one car and four vans, all used at the same time."""
    day = date(2026, 3, 2)
    miles = [BusinessDay(day, vehicle, D(10)) for vehicle in FIVE]

    assert most_at_once(miles) == 5 > US.most_at_once
    assert standard(US, miles, rates_of(US), tax_year(2026, "US"), "mi", "USD") == Standard(refused=True)


def test_three_cars_and_two_vans_used_in_turn_have_the_standard_rate():
    """IRS Publication 463, example: five vehicles, never at the same time."""
    miles = [BusinessDay(date(2026, 3, day), vehicle, D(10)) for day, vehicle in enumerate(FIVE, start=2)]

    assert most_at_once(miles) == 1
    assert standard(US, miles, rates_of(US), tax_year(2026, "US"), "mi", "USD").total == D("36.25")


def test_twelve_of_twenty_thousand_miles_are_60_percent():
    """IRS Publication 463 (2025), business use: 12,000 of 20,000 miles."""
    actual = actual_cost(D("8000.00"), "USD", business=D(12000), total=D(20000))

    assert actual == Actual(D("8000.00"), D("0.600000"), D("4800.00"))


def test_a_vehicle_that_drove_nowhere_has_no_business_share():
    assert actual_cost(D("120.00"), "USD", business=D(0), total=D(0)) == Actual(D("120.00"), D(0), D(0))


def test_the_actual_amount_is_not_worked_from_the_rounded_share():
    assert actual_cost(D("300000.00"), "USD", business=D(1), total=D(3)).amount == D("100000.00")


@given(
    st.sampled_from([US, UK, AU]),
    st.integers(2018, 2028),
    st.lists(st.tuples(st.integers(-30, 400), st.sampled_from("abc"), st.integers(0, 120_000)), max_size=12),
)
def test_rows_cover_the_year_and_add_up_to_its_business_distance(scheme, number, entries):
    country, unit, currency = OF[scheme]
    year = tax_year(number, country)
    days = [BusinessDay(year.begin + timedelta(n), car, D(tenths) / 10) for n, car, tenths in entries]

    result = standard(scheme, days, rates_of(scheme), year, unit, currency)

    driven = sum((day.distance for day in days if day.date in year), D(0))
    assert sum((row.distance for row in result.rows), D(0)) == driven
    assert all(row.amount == round_money(row.distance * row.rate, currency) for row in result.rows)
    assert sum((result.of(car) for car in "abc"), D(0)) == result.total
    if result.rows:
        assert (result.rows[0].begin, result.rows[-1].end) == (year.begin, year.end)
