"""The round of a day, as its page says it, and what is done to its stops there."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from practice.lib.profile import Profile
from practice.models import Leg, Visit
from practice.reports.odometers import known_readings
from practice.reports.round import DayRound, day_round
from practice.reports.vehicle_day import vehicle_days
from tests.factories.practice import (
    DAY,
    HorseFactory,
    LegFactory,
    PlaceFactory,
    ProfileFactory,
    ReadingFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)

pytestmark = pytest.mark.django_db
D = Decimal
PLANNED, DONE, CANCELLED = Visit.Status.values


def round_of_the_day() -> DayRound:
    return day_round(DAY, DAY, Profile())


@pytest.mark.parametrize(
    ("statuses", "answer"),
    [
        ([], "No stops planned yet."),
        ([CANCELLED], "No stops planned yet."),
        ([PLANNED], "Your one stop is not done yet."),
        ([PLANNED, PLANNED], "None of your 2 stops is done yet."),
        ([DONE, PLANNED], "1 of 2 stops is done."),
        ([DONE, DONE, PLANNED], "2 of 3 stops are done."),
        ([DONE], "Your one stop is done."),
        ([DONE, DONE, CANCELLED], "All 2 stops are done."),
    ],
)
def test_the_round_says_how_far_it_is(statuses, answer):
    for status in statuses:
        VisitFactory(status=status)

    assert round_of_the_day().answer == answer


def test_the_next_stop_is_the_first_one_planned_and_only_today():
    VisitFactory(status=DONE, position=1)
    second = VisitFactory(position=2)

    assert round_of_the_day().next_stop == second
    assert day_round(DAY, DAY + timedelta(1), Profile()).next_stop is None


def test_a_vehicles_day_holds_its_stops_with_their_drives_and_what_is_not_logged():
    truck, work = VehicleFactory(name="Truck"), WorkFactory(visit=VisitFactory(status=DONE, locked=True))
    work.visit.vehicle = truck
    work.visit.save()
    alone = VisitFactory(status=DONE)
    LegFactory(vehicle=truck, visit=work.visit, distance=D("5.5"), purpose="business", origin="Home")
    for at, reading in (("start", "100"), ("end", "120")):
        ReadingFactory(vehicle=truck, at=at, reading=D(reading))

    own, other = vehicle_days(DAY, Profile())

    [stop], [bare] = own.stops, other.stops
    assert (own.name, own.odometer) == ("Truck", "20.0\u00a0mi by the odometer, 5.5\u00a0mi logged.")
    assert (stop.horse_names, stop.reach, stop.state) == (work.horse.name, D("5.5"), "invoiced")
    [drive] = own.drives
    assert (drive.name, drive.more, drive.fact) == ("Home to ?", "business", "5.5\u00a0mi")
    assert [(words, url) for _, words, url in own.unlogged] == [
        (
            "105.5 to 120.0, on top of the drives that are logged.",
            reverse("practice:gap-fill", args=[DAY.isoformat(), truck.pk, "120"]),
        )
    ]
    assert (other.name, bare.visit, bare.lacks_work) == ("No vehicle", alone, True)


def test_a_stop_is_planned_on_the_page_and_done_canceled_and_reopened_by_its_buttons(browser):
    ProfileFactory()
    place = PlaceFactory(name="Larkspur Barn")

    def pressed(name, *args, **typed) -> str:
        answer = browser.post(reverse(f"practice:{name}", args=args), typed)
        return [str(message) for message in get_messages(answer.wsgi_request)][-1]

    told = [pressed("visit-plan", DAY.isoformat(), place=place.pk)]
    visit = Visit.objects.get()
    told += [pressed(name, visit.pk) for name in ("visit-complete", "visit-cancel", "visit-reopen")]
    told += [pressed("visit-move", visit.pk, date=(DAY + timedelta(1)).isoformat())]

    words = ("planned", "done", "canceled", "planned again", "moved")
    assert told == [f"Larkspur Barn is {word}." for word in words]
    assert Visit.objects.values_list("status", "date").get() == (PLANNED, DAY + timedelta(1))


def test_a_stop_is_planned_on_the_day_that_is_picked(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    place = PlaceFactory(name="Larkspur Barn")
    HorseFactory(name="Juniper", place=place, next_call=DAY + timedelta(3))
    HorseFactory(name="Late", place=place, next_call=DAY - timedelta(3))
    address = reverse("practice:visit-plan", args=[DAY.isoformat()])
    due = DAY + timedelta(3)

    offers = browser.get(address, {"place": place.pk}).context["offers"]
    assert [(row.day, row.name, row.why, row.is_chosen) for row in offers] == [
        (DAY, "Today", "", True),
        (due, "Sat, Oct 17", "Juniper due", False),
    ]

    picked = browser.post(address, {"offer": due.isoformat(), "place": place.pk, "note": "bring pads"})
    form = browser.get(picked.headers["Location"]).context["form"]
    shown = {name: form[name].value() for name in ("date", "place", "note")}
    assert shown == {"date": due, "place": str(place.pk), "note": "bring pads"}

    saved = browser.post(address, {"place": place.pk, "date": due.isoformat()})
    assert saved.headers["Location"] == reverse("practice:round", args=[due.isoformat()])
    assert Visit.objects.get().date == due


def test_the_round_opens_on_the_day_that_is_picked(browser):
    ProfileFactory()

    answer = browser.get(reverse("practice:round-today"), {"day": "2025-03-02"})

    assert answer.headers["Location"] == reverse("practice:round", args=["2025-03-02"])
    assert "Sunday, March 2, 2025" in browser.get(answer.headers["Location"]).content.decode()


def test_once_all_stops_are_done_the_thumb_leads_through_the_evening():
    truck = VehicleFactory(name="Truck")
    visit = VisitFactory(status=DONE, vehicle=truck, place=PlaceFactory(name="Larkspur Barn"))
    known = LegFactory(
        vehicle=truck, date=DAY - timedelta(7), origin="Home", destination="Larkspur Barn", distance=D(9)
    )

    def step(label: str) -> bool:
        return round_of_the_day().step.label == label

    assert step("Evening odometer")
    ReadingFactory(vehicle=truck, at="end", reading=D(100))
    assert step("Add all 2 drives") and round_of_the_day().step.posts
    LegFactory(vehicle=truck, visit=visit, origin="Home", destination="Larkspur Barn", distance=D(9))
    known.delete()
    Leg.objects.update(proposed=9)
    assert step("Enter the distance")
    LegFactory(vehicle=truck, purpose="business", origin="Larkspur Barn", destination="Home", distance=D(9))
    assert step("Close the day")
    Visit.objects.update(locked=True)
    assert round_of_the_day().step is None


def test_the_mornings_odometer_is_proposed_from_the_last_evening():
    truck = VehicleFactory(name="Truck")
    ReadingFactory(vehicle=truck, date=DAY - timedelta(2), at="end", reading=D("84198.0"))

    assert known_readings(truck, DAY, DAY) == {"start": D("84198.0")}
    assert known_readings(truck, DAY, DAY - timedelta(1)) == {}
    ReadingFactory(vehicle=truck, at="end", reading=D(50))
    assert known_readings(truck, DAY, DAY) == {"end": D(50)}


def test_a_place_has_to_be_chosen(browser):
    ProfileFactory()

    answer = browser.post(reverse("practice:visit-plan", args=[DAY.isoformat()]), {})

    assert answer.context["form"].errors == {"place": ["Choose a place."]}
    assert Visit.objects.count() == 0
