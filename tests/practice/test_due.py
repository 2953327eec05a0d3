"""When each horse's next call is."""

from datetime import date, timedelta

import pytest

from practice.reports.due import due_date, due_horses, due_places
from practice.reports.history import last_time
from tests.factories.practice import DAY, HorseFactory, ServiceFactory, VisitFactory, WorkFactory

LAST = date(2026, 9, 2)
WEEK = timedelta(weeks=1)


@pytest.mark.parametrize(
    ("last", "next_call", "expected"),
    [
        (LAST, None, LAST + 6 * WEEK),
        (LAST, LAST + WEEK, LAST + WEEK),
        (LAST, LAST, LAST + 6 * WEEK),
        (None, LAST, LAST),
        (None, None, None),
    ],
)
def test_the_agreed_call_holds_while_it_is_later_than_the_last_work(last, next_call, expected):
    assert due_date(last, 6, next_call) == expected


@pytest.mark.django_db
def test_a_lost_shoe_does_not_begin_the_cycle_anew():
    horse = HorseFactory()
    for weeks, resets in ((8, True), (2, False)):
        visit = VisitFactory(status="done", date=DAY - weeks * WEEK)
        WorkFactory(horse=horse, visit=visit, service=ServiceFactory(resets_cycle=resets))
    WorkFactory(horse=horse, visit=VisitFactory(date=DAY - WEEK))  # only planned

    [row] = due_horses()

    assert (row.due, row.days_over(DAY)) == (DAY - 2 * WEEK, 14)


@pytest.mark.django_db
@pytest.mark.parametrize("before", [None, DAY - 3 * WEEK])
def test_the_last_work_is_found_however_long_ago_it_was(before):
    renail = ServiceFactory(resets_cycle=False)
    for years in (0, 1, 4):  # beside a horse that is done all the time
        horse = HorseFactory()
        for weeks in (years * 52, years * 52 + 6, years * 52 + 12):
            WorkFactory(horse=horse, visit=VisitFactory(status="done", date=DAY - weeks * WEEK))
        WorkFactory(horse=horse, visit=VisitFactory(status="done", date=DAY - WEEK), service=renail)
        WorkFactory(horse=horse, visit=VisitFactory(date=DAY - WEEK))  # only planned
    HorseFactory()

    found = [row.last for row in due_horses(before=before)]

    first = DAY - 6 * WEEK if before else DAY
    assert found == [DAY - 4 * 52 * WEEK, DAY - 52 * WEEK, first, None]


@pytest.mark.django_db
def test_only_active_horses_are_due_and_new_ones_come_last():
    done = WorkFactory(visit=VisitFactory(status="done", date=DAY - 6 * WEEK)).horse
    new = HorseFactory()
    HorseFactory(status="retired")

    assert [(row.horse, row.due) for row in due_horses()] == [(done, DAY), (new, None)]


@pytest.mark.django_db
def test_places_with_horses_due_say_when_they_are_planned():
    work = WorkFactory(visit=VisitFactory(status="done", date=DAY - 6 * WEEK))
    planned = VisitFactory(place=work.horse.place, date=DAY + WEEK)

    [found] = due_places(DAY)

    assert (found.place, found.due, found.planned) == (work.horse.place, DAY, planned)


@pytest.mark.django_db
def test_as_last_time_is_the_last_cycle_work_before_the_visit():
    horse = HorseFactory()
    cycle = WorkFactory(horse=horse, visit=VisitFactory(status="done", date=DAY - 6 * WEEK))
    lost = ServiceFactory(resets_cycle=False)
    WorkFactory(horse=horse, service=lost, visit=VisitFactory(status="done", date=DAY - WEEK))

    assert last_time(horse, VisitFactory()).work == [cycle]
