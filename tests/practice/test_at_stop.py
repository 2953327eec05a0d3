"""What comes up at a stop: a horse and a place that are not in the book yet, and the next call."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from practice.actions.horses import agree_next_call, set_owners
from practice.actions.newcomers import add_horse_at_stop
from practice.actions.visits import complete_visit
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place, Visit
from practice.reports.stop import Stop
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def stop(settings):
    settings.TODAY = DAY
    ProfileFactory()
    return VisitFactory(place=PlaceFactory(name="Ridge Barn"))


def add(browser, stop, **typed):
    return browser.post(f"/visits/{stop.pk}/horses/add/", {"cycle_weeks": "6"} | typed)


def test_a_horse_with_a_new_owner_is_added_and_its_form_opens(browser, stop):
    answer = add(browser, stop, name="Sorrel", new_owner="Petra Quill", phone="555-0123", cycle_weeks="8")

    horse, client = Horse.objects.get(), Client.objects.get()
    assert (horse.name, horse.place, horse.cycle_weeks) == ("Sorrel", stop.place, 8)
    assert (client.name, client.phone) == ("Petra Quill", "555-0123")
    assert list(horse.owners.values_list("client", "share", "valid_from")) == [(client.pk, 100, None)]
    assert answer.url == f"/visits/{stop.pk}/horses/{horse.pk}/"


def test_a_horse_of_a_client_in_the_book_makes_no_second_client(browser, stop):
    ann = owned_horse(place=stop.place).owners.get().client
    Client.objects.update(name="Ann Birch")

    add(browser, stop, name="Sorrel", owner=ann.pk)
    add(browser, stop, name="Fern", new_owner="ann birch")

    assert list(Client.objects.values_list("name")) == [("Ann Birch",)]
    assert list(Horse.objects.order_by("pk").values_list("name", "owners__client"))[1:] == [
        ("Sorrel", ann.pk),
        ("Fern", ann.pk),
    ]


def test_the_owner_is_said_once(browser, stop):
    ann = owned_horse(place=stop.place).owners.get().client_id
    tried = [
        {"name": "Sorrel"},
        {"name": "Sorrel", "owner": ann, "new_owner": "Petra"},
        {"new_owner": "Petra"},
    ]
    told = [add(browser, stop, **typed).context["form"].errors for typed in tried]

    assert told == [
        {"new_owner": ["Choose the owner, or type who it is."]},
        {"new_owner": ["Choose the owner, or type a new one, not both."]},
        {"name": ["Type the horse's name."]},
    ]
    assert Horse.objects.count() == 1


def test_a_second_horse_of_a_name_at_the_place_is_asked_about(browser, stop):
    HorseFactory(name="Sorrel", place=stop.place)
    HorseFactory(name="Fern")

    asked = [add(browser, stop, name=name, new_owner="Petra").context for name in ("sorrel", "Fern")]

    assert [odd.message for odd in asked[0]["form"].asked] == [
        "Sorrel at Ridge Barn is in the book already. Is this a second one?"
    ]
    assert asked[1] is None


def test_a_horse_with_a_uuid_is_added_once(stop):
    uuid = uuid4()
    once, again = (add_horse_at_stop(stop, "Sorrel", None, "Petra", uuid=uuid) for _ in range(2))

    assert (once, Horse.objects.count(), Client.objects.count()) == (again, 1, 1)


def test_the_search_of_a_stop_leads_to_the_new_horse(browser, stop):
    page = browser.get(stop.get_absolute_url(), {"q": "Sorrel"}).content.decode()
    form = browser.get(f"/visits/{stop.pk}/horses/add/?name=Sorrel").context["form"]

    assert f"/visits/{stop.pk}/horses/add/?name=Sorrel" in page
    assert form["name"].value() == "Sorrel"


def test_a_stop_at_a_new_place_is_planned_in_one_step(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    ridge = PlaceFactory(name="Ridge Barn")
    address = reverse("practice:visit-plan", args=[DAY.isoformat()])

    for name in ("Hollow Farm", "ridge barn"):
        browser.post(address, {"new_place": name})
    both = browser.post(address, {"new_place": "Hollow Farm", "place": ridge.pk})

    assert list(Place.objects.order_by("pk").values_list("name")) == [("Ridge Barn",), ("Hollow Farm",)]
    assert list(Visit.objects.order_by("pk").values_list("place__name", "date")) == [
        ("Hollow Farm", DAY),
        ("Ridge Barn", DAY),
    ]
    assert both.context["form"].errors == {"new_place": ["Choose a place, or type a new one, not both."]}


@pytest.fixture
def done_at(stop):
    """The horses that were done at the stop: one every 6 weeks, one every 8."""
    horses = [
        HorseFactory(name=name, place=stop.place, cycle_weeks=w) for name, w in (("Fern", 6), ("Moss", 8))
    ]
    for horse in horses:
        WorkFactory(visit=stop, horse=horse)
    return horses


def test_the_next_call_is_proposed_for_all_when_the_first_is_due_and_agreed_in_one_step(
    browser, stop, done_at
):
    address = f"/visits/{stop.pk}/next-call/"
    shown = browser.get(address).context["form"]
    fern, moss = done_at

    assert (shown["day"].value(), shown["horses"].value()) == (DAY + timedelta(weeks=6), [fern.pk, moss.pk])
    browser.post(address, {"day": "2026-11-20", "horses": [moss.pk]})
    assert list(Horse.objects.order_by("name").values_list("next_call")) == [(None,), (date(2026, 11, 20),)]


def test_the_next_call_lies_after_the_stop(browser, stop, done_at):
    answer = browser.post(
        f"/visits/{stop.pk}/next-call/", {"day": DAY.isoformat(), "horses": [done_at[0].pk]}
    )

    assert answer.context["form"].errors == {"day": ["Enter a day after this visit."]}


def test_nothing_is_agreed_for_a_horse_that_was_sold_meanwhile(done_at):
    fern, moss = done_at
    Horse.objects.filter(pk=moss.pk).update(status="sold")

    with pytest.raises(RuleBroken) as refusal:
        agree_next_call(done_at, DAY + timedelta(weeks=5))

    assert refusal.value.code == "horse_not_active"
    assert list(Horse.objects.values_list("next_call")) == [(None,), (None,)]


def test_before_anything_is_done_the_next_call_is_proposed_for_the_horses_that_are_due(browser, stop):
    """As the page is that a phone keeps: what is done there, it cannot know."""
    due, later = (HorseFactory(place=stop.place, next_call=DAY + timedelta(days)) for days in (0, 3))

    form = browser.get(f"/visits/{stop.pk}/next-call/").context["form"]

    assert (list(form.fields["horses"].queryset), form["horses"].value()) == ([due], [due.pk])
    assert later.next_call == DAY + timedelta(3)


def test_whoever_owns_a_horse_that_is_due_may_pay_there(browser, stop):
    ann, ben, petra = (ClientFactory(name=name) for name in ("Ann", "Ben", "Petra"))
    due, later = (HorseFactory(place=stop.place, next_call=DAY + timedelta(days)) for days in (0, 3))
    set_owners(due, [(petra, Decimal(50)), (ann, Decimal(50))], None)
    set_owners(later, [(ben, Decimal(100))], None)

    offered = Stop(stop, Profile.current()).payers
    complete_visit(stop)
    stop.refresh_from_db()

    assert (offered, Stop(stop, Profile.current()).payers) == ([ann, petra], [])
    page = browser.get(stop.get_absolute_url()).content.decode()
    assert "Payment taken here" not in page
