"""A stop: who is due there, who is next, and a horse from elsewhere."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from practice.actions.visits import lock_visits, plan_visit
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.reports.horses_at_stop import horses_at, next_horse
from practice.reports.reaching import directions_to
from practice.reports.stop import Stop
from practice.rules.cycle import cycle_weeks
from tests.factories.practice import (
    DAY,
    ClientFactory,
    FindingFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)

pytestmark = pytest.mark.django_db
D = Decimal
DONE = "done"


def test_the_stop_says_who_is_due_and_the_next_horse_waits():
    visit = VisitFactory()
    names = ("Juniper", "Bramble", "Old Tom")
    juniper, bramble, tom = (HorseFactory(name=name, place=visit.place) for name in names)
    for horse, weeks in ((juniper, 7), (bramble, 6), (tom, 2)):
        past = VisitFactory(date=DAY - timedelta(weeks=weeks), status=DONE)
        WorkFactory(visit=past, horse=horse)

    stop = Stop(visit, Profile())

    assert stop.answer == f"2 horses are due at {visit.place}."
    late = {row.horse: row.is_late for row in stop.horses}
    assert late == {juniper: True, bramble: False, tom: False}
    assert (stop.first.horse, next_horse(stop.horses, juniper).horse) == (juniper, bramble)

    work = WorkFactory(visit=visit, horse=juniper)
    assert Stop(visit, Profile()).answer == f"1 horse is due at {visit.place}."
    assert horses_at(visit)[0].services == work.service.name
    WorkFactory(visit=visit, horse=bramble)
    assert (Stop(visit, Profile()).answer, Stop(visit, Profile()).first) == (
        f"Every horse due at {visit.place} is done.",
        None,
    )


def test_a_stop_that_is_invoiced_has_no_horse_to_start_with():
    visit = VisitFactory(status=DONE, vehicle=VehicleFactory(name="Truck"))
    HorseFactory(place=visit.place)
    lock_visits([visit])

    assert (Stop(visit, Profile()).first, Stop(visit, Profile()).status) == (None, "done, invoiced, Truck")


def test_a_horse_from_elsewhere_is_found_by_name(browser):
    visit, other = plan_visit(PlaceFactory(), DAY), HorseFactory(name="Marigold")

    found = browser.get(visit.get_absolute_url(), {"q": "mari"})
    none = browser.get(visit.get_absolute_url(), {"q": "Zorn"}).content.decode()

    assert found.context["found"] == [ListRow(visit.horse_url(other), "Marigold", other.place.name)]
    assert "No horse is called &#x27;Zorn&#x27;." in none or "No horse is called 'Zorn'." in none


def test_a_stop_and_a_horse_have_as_many_queries_with_one_horse_as_with_three(browser):
    ProfileFactory()
    visit = VisitFactory(vehicle=VehicleFactory())
    addresses = [visit.get_absolute_url(), visit.horse_url(HorseFactory(place=visit.place))]

    counts = []
    for times in (1, 2):
        for _ in range(times):
            work = WorkFactory(visit=visit, horse=HorseFactory(place=visit.place))
            MaterialUseFactory(visit=visit, horse=work.horse)
        browser.get(addresses[0])
        for address in addresses:
            with CaptureQueriesContext(connection) as queries:
                assert browser.get(address).status_code == 200
            counts.append(len(queries))

    assert counts[:2] == counts[2:]


def test_the_stop_says_what_to_know_of_the_place_and_of_the_horses_worked_on():
    place = PlaceFactory(
        name="Larkspur Barn", latitude=D("41.3"), longitude=D("-73.25"), notes="Gate code 2580"
    )
    visit = VisitFactory(place=place)
    due, later = (
        HorseFactory(place=place, next_call=DAY + timedelta(days), cautions="kicks", notes="bring hay")
        for days in (0, 40)
    )
    heat = FindingFactory(visit=VisitFactory(date=DAY - timedelta(30)), horse=due, refer_to_vet=True)
    FindingFactory(visit=heat.visit, horse=due, resolved_on=DAY - timedelta(20))
    seen = FindingFactory(visit=heat.visit, horse=due)
    ann, silent = ClientFactory(name="Ann", phone="+1 (555) 010-4477"), ClientFactory(name="Ben", phone="ask")
    for client in (ann, silent):
        OwnerFactory(horse=later, client=client, share=50)

    stop = Stop(visit, Profile())

    assert [row.horse for row in stop.with_cautions] == [row.horse for row in stop.with_notes] == [due]
    assert [row.finding for row in stop.for_vet] == [heat]
    assert [row.url for row in stop.to_look_at] == [visit.horse_url(seen.horse)]
    # RFC 5870 and RFC 3966.
    assert (stop.directions, stop.calls) == ("geo:41.3,-73.25", [(ann, "tel:+15550104477")])
    place.latitude, place.address = None, "4 Tannery Road\nPell Crossing"
    assert directions_to(place) == "geo:0,0?q=4%20Tannery%20Road%20Pell%20Crossing"
    assert directions_to(PlaceFactory()) == ""


@pytest.mark.parametrize(
    ("last", "due", "weeks", "words"),
    [
        (49, 7, (6, 0, 1), "6 of 6 weeks and 1 begun past the due date"),
        (43, 1, (6, 0, 1), "6 of 6 weeks and 1 begun past the due date"),
        (56, 0, (8, 0, 0), "8 of 8 weeks"),
        (44, -12, (6, 2, 0), "6 of 8 weeks"),
        (50, 8, (6, 0, 2), "6 of 6 weeks and 2 begun past the due date"),
    ],
)
def test_a_cycle_is_a_strip_of_weeks_with_one_for_each_week_begun_past_it(last, due, weeks, words):
    strip = cycle_weeks(DAY - timedelta(last), DAY - timedelta(due), DAY)

    assert (strip.gone, strip.ahead, strip.past) == weeks
    assert strip.words == words
    assert [look for look, _ in strip.nails] == [
        *["gone"] * strip.gone,
        *["ahead"] * strip.ahead,
        *["past"] * strip.past,
    ]
