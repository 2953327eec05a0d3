"""The page that closes a day: what it says, where it leads, and what its button does."""

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from billing.models import Invoice
from tests.factories.practice import DAY, ClientFactory, PlaceFactory, ProfileFactory, VisitFactory, trim

pytestmark = pytest.mark.django_db
ADDRESS = f"/close/{DAY.isoformat()}/"


@pytest.fixture(autouse=True)
def practice(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    return ProfileFactory()


def page_of(browser):
    return browser.get(ADDRESS).context["page"]


def test_an_empty_day_has_nothing_to_close(browser):
    assert page_of(browser).heading == "Nothing to close."


def test_a_day_says_what_is_issued_and_what_to_check_first(browser):
    trim(ClientFactory(name="Ann"))
    trim(price=None)

    page = page_of(browser)

    assert page.heading == "1 invoice, $50.00. 1 thing to check first."
    assert [(row.client.name, row.total) for row in page.previews] == [("Ann", 50)]
    assert page.first_number == "GF-2026-0001"


def test_a_stop_that_is_held_back_says_why_and_where_to_fix_it(browser):
    work = trim(price=None, place=PlaceFactory(name="Larkspur Barn"))

    [row] = page_of(browser).checks

    assert (row.held, row.name) == (True, "Larkspur Barn")
    assert row.text == (
        f"{work.horse}: {work.service} has no price on October 14. Held back: nobody is billed for this stop."
    )
    assert row.links == [
        (reverse("practice:visit-horse", args=[work.visit.pk, work.horse.pk]), "Enter a price"),
        (reverse("practice:service-list"), "Price list"),
    ]


def test_a_planned_stop_is_entered_or_moved(browser):
    visit = VisitFactory(place=PlaceFactory(name="Quarry Hill"))

    [row] = page_of(browser).checks

    assert (row.held, row.text) == (False, "Quarry Hill: planned for October 14, but nothing is entered.")
    assert row.links == [
        (reverse("practice:visit-detail", args=[visit.pk]), "Enter the work"),
        (reverse("practice:visit-move", args=[visit.pk]), "Move the stop"),
    ]


def test_the_button_issues_once_and_says_the_numbers(browser):
    trim(ClientFactory(name="Ann"))
    trim(ClientFactory(name="Ben"))

    said = [[str(message) for message in get_messages(browser.post(ADDRESS).wsgi_request)] for _ in range(2)]

    assert said[0] == ["2 invoices issued, GF-2026-0001 to GF-2026-0002."]
    assert said[1][-1] == "There was nothing left to issue."
    assert Invoice.objects.count() == 2
    assert [issued.row.name for issued in page_of(browser).issued] == ["Ann", "Ben"]


def test_an_invoice_of_many_horses_names_the_first_of_them(browser):
    ann = ClientFactory(name="Ann")
    works = [trim(ann) for _ in range(5)]

    [preview] = page_of(browser).previews

    named = "; ".join(f"{work.horse}: {work.service}" for work in works[:3])
    assert preview.summary == f"{named}; and 2 more"
