"""What is possible but odd on the road and about people: the threshold, and the pages that ask once."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from practice.actions.road import log_leg, set_reading
from practice.lib.units import DISTANCE_UNITS
from practice.models import Leg, Owner, Reading, Visit
from practice.rules.odd import is_far_on
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    VehicleFactory,
    VisitFactory,
)
from tests.lib.test_asking import field_of

D = Decimal
AHEAD = f"This day is still ahead. Type today, {DAY.isoformat()}, or an earlier day."
readings = st.none() | st.decimals(min_value=0, max_value=10**6, places=1)


@given(readings, readings, st.sampled_from([unit.far for unit in DISTANCE_UNITS.values()]))
def test_an_odometer_is_far_on_beyond_a_thousand_miles_or_1600_km(reading, last, far):
    far_on = is_far_on(reading, last, far)

    assert far in (1000, 1600)
    assert far_on == (reading is not None and last is not None and reading > last + far)


@pytest.fixture
def pages(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return browser


def questions(answer, form) -> list[str]:
    return [question for question, _ in form.questions]


@pytest.mark.django_db
def test_an_odometer_far_on_is_asked_about_on_the_round(pages):
    truck = VehicleFactory()
    set_reading(truck, DAY - timedelta(1), "end", D("84291.4"))
    address, morning = reverse("practice:readings", args=[DAY.isoformat(), truck.pk]), f"v{truck.pk}-start"

    asked = pages.post(address, {morning: "94291.4"})
    before = Reading.objects.count()
    saved = pages.post(
        address, {morning: "94291.4", f"v{truck.pk}-right": field_of(asked, f"v{truck.pk}-right")}
    )

    assert "That is 10,000.0\u00a0mi since the last reading, 84,291.4. Is it right?" in asked.content.decode()
    assert (before, saved.status_code, Reading.objects.count()) == (1, 302, 2)


@pytest.mark.django_db
def test_a_reading_that_someone_else_typed_is_not_overwritten(pages):
    truck = VehicleFactory()
    address, name = reverse("practice:readings", args=[DAY.isoformat(), truck.pk]), f"v{truck.pk}"
    opened = field_of(pages.get(reverse("practice:round", args=[DAY.isoformat()])), f"{name}-opened")
    set_reading(truck, DAY, "start", D("84198.0"))

    answer = pages.post(address, {f"{name}-start": "84189.0", f"{name}-opened": opened})

    assert "Someone changed this while you had it open." in answer.content.decode()
    assert Reading.objects.get().reading == D("84198.0")


@pytest.mark.django_db
def test_a_failed_reading_can_be_reloaded(pages):
    address = reverse("practice:readings", args=[DAY.isoformat(), VehicleFactory().pk])

    failed, again = pages.post(address, {}), pages.get(address)

    assert again.headers["Location"] == reverse("practice:round", args=[DAY.isoformat()])
    assert failed.status_code in (200, 302)


@pytest.mark.django_db
def test_a_drive_of_a_day_ahead_is_refused_and_a_far_one_asked_about(pages):
    truck = VehicleFactory()
    typed = {"distance": "1200", "purpose": "business", "reason": "supplier"}

    ahead = pages.post(reverse("practice:leg-add", args=[(DAY + timedelta(1)).isoformat(), truck.pk]), typed)
    far = pages.post(reverse("practice:leg-add", args=[DAY.isoformat(), truck.pk]), typed)

    assert ahead.context["form"].non_field_errors() == [
        "This day is still ahead. Enter it once it was driven."
    ]
    assert questions(far, far.context["form"]) == ["That is a drive of 1,200.0\u00a0mi. Is it right?"]
    assert Leg.objects.count() == 0


@pytest.mark.django_db
def test_a_drive_that_someone_else_changed_is_not_overwritten(pages):
    leg = log_leg(VehicleFactory(), DAY, purpose="business", distance=D(12), reason="supplier")
    address = reverse("practice:leg-change", args=[leg.pk])
    typed = {"distance": "12.4", "purpose": "business", "reason": "supplier"}
    opened = field_of(pages.get(address), "opened")
    Leg.objects.update(distance=D(21))

    answer = pages.post(address, typed | {"opened": opened})

    assert [(row.saved, row.typed) for row in answer.context["form"].clashes] == [("21", "12.4")]
    assert Leg.objects.get().distance == 21


@pytest.mark.django_db
def test_owners_that_someone_else_changed_are_not_replaced(pages):
    share, other = OwnerFactory(), ClientFactory(name="Ada Lund")
    address = reverse("practice:horse-owners", args=[share.horse.pk])
    opened = field_of(pages.get(address), "opened")
    Owner.objects.update(client=other)

    answer = pages.post(
        address, {"client_1": share.client.pk, "share_1": "100", "since": DAY.isoformat(), "opened": opened}
    )

    [clash] = answer.context["form"].clashes
    assert (clash.saved, clash.is_untouched) == ("Ada Lund", True)
    assert Owner.objects.get().client == other


@pytest.mark.django_db
def test_a_visit_that_someone_else_moved_stays_where_it_was_moved(pages):
    visit = VisitFactory(date=DAY)
    address = reverse("practice:visit-move", args=[visit.pk])
    opened = field_of(pages.get(address), "opened")
    type(visit).objects.update(date=DAY + timedelta(5))

    answer = pages.post(address, {"date": (DAY + timedelta(1)).isoformat(), "opened": opened})

    [clash] = answer.context["form"].clashes
    assert (clash.label, clash.saved) == ("New day", (DAY + timedelta(5)).isoformat())


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "typed", "errors"),
    [
        ("horse-add", {"born": "1969"}, {"born": [f"Type a year from 1970 to {DAY.year}."]}),
        ("horse-add", {"born": str(DAY.year + 1)}, {"born": [f"Type a year from 1970 to {DAY.year}."]}),
        ("horse-add", {"cycle_weeks": "0"}, {"cycle_weeks": ["Type a whole number from 1 to 52."]}),
        (
            "horse-add",
            {"next_call": "2036-10-14"},
            {"next_call": ["This day is more than two years ahead. Type a day up to 2028-10-14."]},
        ),
        ("client-add", {"email": "ada@"}, {"email": ["Type an email address, such as ann@example.com."]}),
        ("client-add", {"language": "xx-9"}, {"language": ["Choose one from the list."]}),
        (
            "vehicle-add",
            {"placed_in_service": (DAY + timedelta(1)).isoformat()},
            {"placed_in_service": [AHEAD]},
        ),
    ],
)
def test_values_are_checked_where_they_are_typed(pages, name, typed, errors):
    settled = {"name": "Juno", "cycle_weeks": "6", "status": "active", "billing": "per_day"}

    answer = pages.post(reverse(f"practice:{name}"), settled | typed)

    assert answer.context["form"].errors == errors


@pytest.mark.django_db
@pytest.mark.parametrize("thing", ["client", "place", "service"])
def test_a_second_one_of_the_same_name_is_asked_about(pages, thing):
    typed = {"name": "Cedar Hollow", "billing": "per_day"}
    pages.post(reverse(f"practice:{thing}-add"), typed)

    asked = pages.post(reverse(f"practice:{thing}-add"), typed)

    assert questions(asked, asked.context["form"]) == [
        f"Another {thing} is named Cedar Hollow too. Is this a second one?"
    ]


def test_a_horse_of_another_name_is_not_asked_about(db, pages):
    HorseFactory(name="Bella")
    typed = {"name": "Bella Two", "cycle_weeks": "6", "status": "active"}

    assert pages.post(reverse("practice:horse-add"), typed).status_code == 302


@pytest.mark.django_db
def test_a_stop_of_a_day_ahead_is_not_done_yet(pages):
    visit = VisitFactory(date=DAY + timedelta(1))

    answer = pages.post(reverse("practice:visit-complete", args=[visit.pk]), follow=True)

    [message] = answer.context["messages"]
    assert str(message) == "This day is still ahead. Move the stop to today before you mark it done."
    visit.refresh_from_db()
    assert visit.status == "planned"


@pytest.mark.django_db
def test_a_stop_is_planned_for_the_day_that_is_typed_at_most_two_years_ahead(pages):
    place = PlaceFactory()
    address = reverse("practice:visit-plan", args=["2036-10-14"])

    opened = pages.get(address)
    far = pages.post(address, {"place": place.pk})
    near = pages.post(address, {"place": place.pk, "date": "2028-10-14"})

    assert 'value="2036-10-14"' in opened.content.decode() and 'max="2028-10-14"' in opened.content.decode()
    assert far.context["form"].errors == {
        "date": ["This day is more than two years ahead. Type a day up to 2028-10-14."]
    }
    assert near.headers["Location"] == reverse("practice:round", args=["2028-10-14"])
    assert [visit.date.isoformat() for visit in Visit.objects.all()] == ["2028-10-14"]
