"""Which backups are kept: seven days and twelve months, whatever happened in between."""

import random
from datetime import date, datetime, time, timedelta

import pytest

from practice.project.backup.keeping import DAYS, MONTHS, to_delete

NOON = time(12)


def at(day: date, hour: int = 12) -> datetime:
    return datetime.combine(day, time(hour))


def kept(made, today: date) -> list[datetime]:
    return sorted(set(made) - to_delete(made, today))


def days_used(seed: int, years: int = 4) -> list[date]:
    """Days on which a book is used over the years: most weekdays, with pauses of up to four months."""
    chance, day, used = random.Random(seed), date(2021, 1, 4), []
    while day < date(2021 + years, 1, 4):
        if chance.random() < 0.01:
            day += timedelta(chance.randrange(7, 120))
        if day.weekday() < 6 and chance.random() < 0.8:
            used.append(day)
        day += timedelta(1)
    return used


@pytest.mark.parametrize("seed", range(3))
def test_over_years_with_gaps_there_are_always_seven_days_and_twelve_months(seed):
    used, copies = days_used(seed), []
    for number, day in enumerate(used):
        copies = kept([*copies, at(day)], day)

        past = used[: number + 1]
        last_of_months = {each.replace(day=1): each for each in past}
        months = [each for month, each in sorted(last_of_months.items()) if month < day.replace(day=1)]
        assert [each.date() for each in copies] == sorted({*past[-DAYS:], *months[-MONTHS:]})


def test_a_long_pause_deletes_nothing():
    copies = [at(date(2025, 3, day)) for day in range(1, 8)]

    assert to_delete(copies, date(2026, 11, 27)) == set()


def test_of_a_day_that_is_over_the_last_copy_stays_and_of_today_all_do():
    yesterday, today = date(2026, 11, 26), date(2026, 11, 27)
    copies = [at(day, hour) for day in (yesterday, today) for hour in (7, 19)]

    assert to_delete(copies, today) == {at(yesterday, 7)}


def test_copies_dated_after_today_are_left_alone_and_push_nothing_out():
    today = date(2026, 11, 27)
    past = [at(today - timedelta(days)) for days in range(DAYS)]
    ahead = [at(date(2036, 1, day)) for day in range(1, 20)]

    assert to_delete([*past, *ahead], today) == set()


def test_without_copies_nothing_goes():
    assert to_delete([], date(2026, 11, 27)) == set()
