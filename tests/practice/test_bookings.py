"""Which planned visits are a horse's next call: half a cycle, to the day."""

from datetime import date, timedelta

import pytest

from practice.rules.bookings import is_another_call, is_next_call, rounds_before

DAY = date(2026, 10, 14)


@pytest.mark.parametrize(
    ("booked", "due", "expected"),
    [(21, 0, True), (22, 0, False), (-30, 0, True), (21, -90, True), (22, -90, False), (26, 5, True)],
)
def test_a_next_call_is_at_most_half_a_cycle_after_the_later_of_due_date_and_day_asked(booked, due, expected):
    assert is_next_call(DAY + timedelta(booked), DAY + timedelta(due), DAY, 42) is expected


def test_a_new_horse_counts_from_the_day_asked():
    assert [is_next_call(DAY + timedelta(days), None, DAY, 42) for days in (21, 22)] == [True, False]


@pytest.mark.parametrize("cycle", [7, 28, 35, 42])
def test_the_rounds_before_a_visit_are_those_more_than_half_a_cycle_before_it(cycle):
    for days in range(-10, 200):
        rounds = [day for day in range(0, 400, cycle) if days - day > cycle / 2]
        assert rounds_before(DAY + timedelta(days), DAY, cycle) == len(rounds)


def test_calls_half_a_cycle_apart_are_two():
    assert [is_another_call(DAY, DAY + timedelta(days), 42) for days in (-21, 20, 21)] == [True, False, True]
