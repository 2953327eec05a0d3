"""A stop: who is due there, who is next, and a horse from elsewhere."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from practice.actions.visits import lock_visit, plan_visit
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.reports.stop import Stop, horses_at, next_horse
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)

pytestmark = pytest.mark.django_db
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
    lock_visit(visit)

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
