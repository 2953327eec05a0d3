"""Tax years, their months and quarters."""

from datetime import date, timedelta
from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.lib.periods import (
    Period,
    add_months,
    months_of,
    quarters_of,
    steps_from,
    tax_year,
    tax_year_of,
)


@pytest.mark.parametrize(
    ("country", "begin", "end"),
    [
        ("US", date(2025, 1, 1), date(2025, 12, 31)),
        ("GB", date(2025, 4, 6), date(2026, 4, 5)),
        ("AU", date(2025, 7, 1), date(2026, 6, 30)),
        ("", date(2025, 1, 1), date(2025, 12, 31)),
    ],
)
def test_a_tax_year_is_named_by_the_year_in_which_it_begins(country, begin, end):
    assert tax_year(2025, country) == Period(begin, end)


@pytest.mark.parametrize(
    ("country", "day", "year"),
    [
        ("US", date(2026, 1, 1), 2026),
        ("GB", date(2026, 4, 5), 2025),
        ("GB", date(2026, 4, 6), 2026),
        ("AU", date(2026, 6, 30), 2025),
        ("AU", date(2026, 7, 1), 2026),
    ],
)
def test_a_day_belongs_to_the_tax_year_that_it_lies_in(country, day, year):
    assert tax_year_of(day, country) == year


def test_british_months_run_from_the_6th_to_the_5th():
    months = months_of(tax_year(2025, "GB"))

    assert months[0] == Period(date(2025, 4, 6), date(2025, 5, 5))
    assert months[9] == Period(date(2026, 1, 6), date(2026, 2, 5))


def test_the_quarters_of_an_australian_year_begin_in_july():
    quarters = quarters_of(tax_year(2025, "AU"))

    assert [quarter.begin.month for quarter in quarters] == [7, 10, 1, 4]
    assert quarters[2] == Period(date(2026, 1, 1), date(2026, 3, 31))


@given(st.integers(1990, 2100), st.sampled_from(["US", "GB", "AU", "DE", ""]))
def test_months_and_quarters_cover_each_day_of_a_year_once(number, country):
    year = tax_year(number, country)

    for parts in (months_of(year), quarters_of(year)):
        assert (parts[0].begin, parts[-1].end) == (year.begin, year.end)
        assert [part.begin for part in parts[1:]] == [part.end + timedelta(1) for part in parts[:-1]]
    assert (len(months_of(year)), len(quarters_of(year))) == (12, 4)


def test_a_month_after_the_last_day_of_january_is_the_last_of_february():
    assert add_months(date(2026, 1, 31), 1) == date(2026, 2, 28)
    assert add_months(date(2028, 1, 31), 1) == date(2028, 2, 29)


def test_steps_keep_the_day_of_the_first_where_the_month_has_it():
    steps = list(islice(steps_from(date(2025, 11, 30), 3), 4))

    assert steps == [date(2025, 11, 30), date(2026, 2, 28), date(2026, 5, 30), date(2026, 8, 30)]
