"""When we came to a stop and left it: tapped there, corrected later, and never in the way of the work."""

from datetime import date, datetime, time

import pytest
from django.contrib.messages import get_messages

from practice.actions.times import arrive_at_visit, set_visit_times
from practice.actions.visits import complete_visit
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Visit
from practice.reports.round import day_round
from tests.factories.practice import DAY, PlaceFactory, ProfileFactory, VisitFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def clock(monkeypatch, settings):
    """A function that sets the time of the day that is today."""
    settings.TODAY = DAY

    def set_clock(hour: int, minute: int, on: date = DAY):
        moment = datetime(on.year, on.month, on.day, hour, minute, 42)
        monkeypatch.setattr("practice.views.times.now", lambda: moment.astimezone())

    return set_clock


def times_of(visit: Visit) -> tuple[time | None, ...]:
    visit.refresh_from_db()
    return visit.arrive, visit.arrived, visit.leave


def test_a_stop_has_the_minute_we_came_beside_the_one_that_was_planned(browser, clock):
    visit = VisitFactory(arrive=time(9))
    clock(9, 14)
    page = browser.post(f"/visits/{visit.pk}/arrive/")
    clock(10, 40)
    browser.post(f"/visits/{visit.pk}/complete/")

    assert (page.url, times_of(visit)) == (f"/visits/{visit.pk}/", (time(9), time(9, 14), time(10, 40)))


def test_the_first_tap_stands(browser, clock):
    visit = VisitFactory()
    for minute in (14, 50):
        clock(9, minute)
        browser.post(f"/visits/{visit.pk}/arrive/")

    assert times_of(visit) == (None, time(9, 14), None)


def test_a_tap_on_another_day_has_no_time_of_this_one(browser, clock):
    visit = VisitFactory()
    clock(9, 14, on=date(2026, 10, 15))
    browser.post(f"/visits/{visit.pk}/arrive/")

    assert times_of(visit) == (None, None, None)


def test_both_times_can_be_corrected_also_when_the_stop_is_invoiced(browser):
    visit = VisitFactory(status="done", locked=True, arrived=time(9, 14), leave=time(12))

    browser.post(f"/visits/{visit.pk}/times/", {"arrived": "09:05", "leave": "10:30"})

    assert times_of(visit) == (None, time(9, 5), time(10, 30))


def test_nobody_leaves_before_arriving(browser):
    visit = VisitFactory(arrived=time(9, 14))

    page = browser.post(f"/visits/{visit.pk}/times/", {"arrived": "09:14", "leave": "09:00"})

    assert "You cannot leave before you arrive. Enter both times." in page.content.decode()
    assert times_of(visit) == (None, time(9, 14), None)


def test_a_stop_that_ends_before_it_was_planned_for_has_no_time_of_leaving():
    """Nobody said when we came: a time of leaving before the planned one would say that we never did."""
    visit = complete_visit(VisitFactory(arrive=time(15)), leave=time(14, 40))
    told = complete_visit(VisitFactory(arrive=time(15), arrived=time(14)), leave=time(14, 40))

    assert times_of(visit) == (time(15), None, None)
    assert times_of(told) == (time(15), time(14), time(14, 40))


@pytest.mark.parametrize(
    ("visit", "code"),
    [({"status": "cancelled"}, "visit_cancelled"), ({"leave": time(8)}, "left_before_arriving")],
)
def test_no_arrival_at_a_stop_that_is_canceled_or_left(visit, code):
    with pytest.raises(RuleBroken) as refusal:
        arrive_at_visit(VisitFactory(**visit), time(9))

    assert refusal.value.code == code


def test_no_time_changes_on_a_day_that_is_closed_for_good(browser, clock):
    ProfileFactory(closed_through=DAY)
    visit = VisitFactory()
    clock(9, 14)

    page = browser.post(f"/visits/{visit.pk}/arrive/")
    with pytest.raises(RuleBroken):
        set_visit_times(visit, time(9), None)

    assert [message.level_tag for message in get_messages(page.wsgi_request)] == ["error"]
    assert times_of(visit) == (None, None, None)


def test_the_round_offers_to_say_i_am_here_once():
    visit = VisitFactory(place=PlaceFactory(name="Ridge Barn"))
    there = day_round(DAY, DAY, Profile())
    arrive_at_visit(visit, time(9, 14))
    here = day_round(DAY, DAY, Profile())

    assert (there.step.label, there.step.url) == ("I am here", f"/visits/{visit.pk}/arrive/")
    assert (here.heading, here.step.label, here.step.url) == (
        "You are at Ridge Barn.",
        "Go on there",
        f"/visits/{visit.pk}/",
    )
