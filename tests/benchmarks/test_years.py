"""A book of twenty years beside its first state, of two: one year's totals, and every list page."""

from datetime import date
from time import perf_counter

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from billing.reports.year_end import year_end
from practice.lib.profile import Profile
from practice.models import Client as Payer
from practice.models import Horse, Leg, Place, Vehicle, Visit
from tests.benchmarks.many_years import LAST_YEAR, add_years, set_up
from tests.factories.practice import VisitFactory
from tests.test_pages import LISTS

pytestmark = pytest.mark.benchmark
TODAY = date(LAST_YEAR + 1, 1, 20)


@pytest.fixture(scope="module")
def browser():
    return Client()


@pytest.fixture(scope="module")
def books(empty_book, browser, tmp_path_factory):
    """The book of twenty years and the book of two; the browser is logged in in both."""
    folder = tmp_path_factory.mktemp("years")
    few = empty_book.copied_to(folder / "few")
    with few.opened():
        set_up()
        browser.force_login(get_user_model().objects.create_user("farrier"))
        add_years(range(LAST_YEAR - 1, LAST_YEAR + 1))
    many = few.copied_to(folder / "many")
    with many.opened():
        add_years(range(LAST_YEAR - 19, LAST_YEAR - 1))
        assert (Visit.objects.count(), Leg.objects.count()) == (40_000, 80_000)
    return many, few


@pytest.fixture
def of_20_beside_2(books, compare, settings):
    """Return a function that times one action on the book of twenty years and on that of two."""
    settings.TODAY = TODAY

    def compared(what, action):
        compare(
            f"{what}, 20 years", action, "the same, 2 years", action, [book.opened for book in books], turns=5
        )

    return compared


def test_one_year(of_20_beside_2, browser):
    def totals():
        assert year_end(LAST_YEAR, Profile.current(), TODAY).income.total > 0

    def page():
        assert browser.get(reverse("billing:year", args=[LAST_YEAR])).status_code == 200

    of_20_beside_2("one year's totals", totals)
    of_20_beside_2("one year's page", page)


@pytest.mark.parametrize("what", ["home", "home after a change"])
def test_home(books, browser, compare, settings, what):
    """Home is kept until something changes: both are timed, beside the list of clients of the same book."""
    settings.TODAY = TODAY
    many, _ = books

    def home():
        if what == "home after a change":
            Visit.objects.filter(pk=1).update(note=str(perf_counter()))
        assert browser.get(reverse("home")).context["home"].on == TODAY

    def clients():
        assert browser.get(reverse("practice:client-list")).status_code == 200

    with many.opened():
        VisitFactory(date=TODAY, status="planned", vehicle=Vehicle.objects.get())
        compare(f"{what}, 20 years", home, "the list of clients", clients)


@pytest.mark.parametrize("name", LISTS)
def test_a_list_page(of_20_beside_2, browser, name):
    def page():
        assert browser.get(reverse(name)).status_code == 200

    of_20_beside_2(reverse(name), page)


@pytest.mark.parametrize(
    ("page", "model"),
    [
        ("practice:horse-detail", Horse),
        ("practice:horse-history", Horse),
        ("billing:horse-earnings", Horse),
        ("practice:client-detail", Payer),
        ("billing:client-account", Payer),
        ("practice:place-detail", Place),
        ("practice:place-visits", Place),
    ],
)
def test_the_page_of_one(of_20_beside_2, browser, page, model):
    def opened():
        assert browser.get(reverse(page, args=[model.objects.first().pk])).status_code == 200

    of_20_beside_2(page, opened)
