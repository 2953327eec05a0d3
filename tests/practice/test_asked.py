"""A horse over by more than its whole cycle is asked about once, until it is over by that much anew."""

from datetime import datetime, time, timedelta

import pytest
from django.utils import timezone

from practice.actions.visits import plan_for_horse
from practice.lib.errors import RuleBroken
from practice.models import LifeEvent, Visit
from practice.reports.asked import horses_to_ask
from practice.reports.due import due_horses
from practice.reports.expected_use import expected_use
from practice.reports.horses_at_stop import horses_at
from stock.rules.planning import shift_chances
from tests.factories.practice import (
    DAY,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.practice.test_expected_use import done

pytestmark = pytest.mark.django_db
ONE, WEEK = timedelta(days=1), timedelta(weeks=1)


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DAY
    return ProfileFactory()


def asked(on=DAY):
    return [row.row.horse for row in horses_to_ask(on, ProfileFactory.build())]


def forgotten(**more):
    """A horse over by a day more than its cycle of six weeks."""
    horse = HorseFactory(**more)
    done(horse, DAY - 12 * WEEK - ONE)
    return horse


def elsewhere(horse, on, recorded=DAY):
    at = timezone.make_aware(datetime.combine(recorded, time(12)))
    return LifeEvent.objects.create(horse=horse, date=on, kind=LifeEvent.Kind.ELSEWHERE, at=at)


def test_a_horse_is_asked_about_from_the_first_day_past_its_whole_cycle():
    horse = forgotten()

    assert [asked(DAY - ONE), asked(DAY)] == [[], [horse]]
    assert [row.horse for row in expected_use(DAY).forgotten] == [horse]


def test_what_is_known_of_it_is_said():
    horse = forgotten(name="Moss", place=PlaceFactory(name="Ridge Barn"))

    [row] = horses_to_ask(DAY, ProfileFactory.build())

    assert (row.name, row.url) == ("Moss", horse.get_absolute_url())
    assert row.text == "Ridge Barn, every 6 weeks. Last done Jul 21, due Sep 1: 43 days overdue."


@pytest.mark.parametrize("status", ["away", "retired", "sold", "died"])
def test_only_active_horses_are_asked_about(status):
    forgotten(status=status)

    assert asked() == []


@pytest.mark.parametrize(
    ("resets", "on", "is_asked"), [(True, DAY, False), (False, DAY, True), (True, DAY - ONE, True)]
)
def test_a_planned_visit_that_names_it_with_work_of_its_cycle_answers(resets, on, is_asked):
    horse = forgotten()
    service = ServiceFactory(resets_cycle=resets)
    WorkFactory(horse=horse, service=service, visit=VisitFactory(place=horse.place, date=on))

    assert (horse in asked()) == is_asked


def test_done_by_someone_else_answers_and_it_is_asked_again_when_it_is_over_anew():
    horse = forgotten()
    elsewhere(horse, DAY - 5 * WEEK)

    days = (DAY, DAY + 7 * WEEK, DAY + 7 * WEEK + ONE)
    assert [asked(on) for on in days] == [[], [], [horse]]
    assert expected_use(DAY).forgotten == []


def test_an_answer_from_so_long_ago_that_it_is_still_over_is_not_asked_for_twice():
    horse = HorseFactory()
    done(horse, DAY - 40 * WEEK)
    elsewhere(horse, DAY - 20 * WEEK)

    assert asked() == []
    assert [row.horse for row in expected_use(DAY).forgotten] == [horse]
    done(horse, DAY - WEEK)
    assert asked(DAY + 11 * WEEK + ONE) == [horse]


def test_an_answer_from_before_it_was_over_does_not_count():
    horse = HorseFactory()
    elsewhere(horse, DAY - 13 * WEEK, recorded=DAY - 13 * WEEK)

    assert asked() == [horse]


def test_planning_it_makes_that_day_its_next_call_and_a_stop_there_stands_for_it():
    horse = forgotten()

    visit = plan_for_horse(horse, DAY + WEEK)

    assert asked() == []
    [row] = due_horses()
    assert (row.due, visit.place) == (DAY + WEEK, horse.place)
    [inputs] = [each for each in expected_use(DAY).expected.inputs if each.planned]
    assert [(each.key, each.day) for each in inputs.candidates] == [(horse.pk, 7)]


def test_a_stop_that_is_planned_there_already_is_the_one():
    horse = forgotten()
    planned = VisitFactory(place=horse.place, date=DAY + WEEK)

    assert plan_for_horse(horse, DAY + WEEK) == planned
    assert Visit.objects.planned().count() == 1


def test_a_horse_that_stands_nowhere_cannot_be_planned():
    horse = forgotten()
    horse.place = None
    horse.save()

    with pytest.raises(RuleBroken) as error:
        plan_for_horse(horse, DAY)

    horse.refresh_from_db()
    assert (error.value.code, horse.next_call) == ("horse_has_no_place", None)


def test_a_shift_counts_from_what_someone_else_did():
    horse = HorseFactory()
    done(horse, DAY - 20 * WEEK)
    plain = expected_use(DAY).expected.shifts
    elsewhere(horse, DAY - 8 * WEEK)
    done(horse, DAY - 2 * WEEK)

    assert plain == shift_chances([])
    assert expected_use(DAY).expected.shifts == shift_chances([0])


def test_a_stop_says_that_someone_else_did_it_last():
    horse = forgotten()
    elsewhere(horse, DAY - 5 * WEEK)

    [row] = horses_at(VisitFactory(place=horse.place, date=DAY))

    assert (row.last, row.last_work, row.state) == (DAY - 5 * WEEK, "by someone else", "in 7 days")


def test_home_and_the_due_list_ask_and_each_answer_is_a_press(browser):
    horse = forgotten(name="Moss")

    for path in ("/", "/horses/"):
        page = browser.get(path).content.decode()
        ways = [f"/horses/{horse.pk}/{way}/" for way in ("plan", "elsewhere", "answer")]
        assert [way in page for way in ways] == [True] * 3
    answer = browser.post(f"/horses/{horse.pk}/answer/", {"kind": "away", "back": "home"})

    horse.refresh_from_db()
    assert (answer.url, horse.status, asked()) == ("/", "away", [])
    assert "Ask about these horses" not in browser.get("/").content.decode()


def test_a_visit_is_planned_for_the_horse_on_its_page(browser):
    horse = forgotten(place=PlaceFactory(name="Ridge Barn"))
    url = f"/horses/{horse.pk}/plan/"

    over = browser.post(url, {"date": DAY - ONE}).context["form"].errors
    answer = browser.post(url, {"date": DAY + ONE})

    assert over == {"date": ["This day is over. Choose today or a later day."]}
    assert answer.url == "/round/2026-10-15/"
    assert "Ridge Barn is planned for" in browser.get(answer.url).content.decode()
