"""The first page says how the day stands."""

import pytest
from django.urls import reverse

from tests.factories.practice import DAY, HorseFactory, ProfileFactory, VisitFactory
from tests.practice.test_expected_use import WEEK, done

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return lambda: browser.get(reverse("home")).context["home"]


def test_a_day_without_stops_names_places_with_horses_overdue(home):
    done(HorseFactory(cycle_weeks=6), DAY - 6 * WEEK)
    before = home().lead
    done(HorseFactory(cycle_weeks=6), DAY - 7 * WEEK)

    assert (home().answer, before, home().lead) == (
        "No stops today.",
        "Nothing is planned for today, and no horse is overdue.",
        "Nothing is planned for today. 1 place has horses overdue.",
    )


def test_a_day_with_a_stop_is_not_closed_yet(home):
    visit = VisitFactory(date=DAY)
    HorseFactory(place=visit.place)

    page = home()

    assert page.answer == "Today is not closed yet."
    assert [(row.name, row.more, row.fact) for row in page.stops] == [(visit.place.name, "Planned", "")]
