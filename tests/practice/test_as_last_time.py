"""Doing horses as last time without their forms: one by one, or the rest of a stop at once."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages

from practice.actions.last_time import as_last_time
from practice.actions.visits import cancel_visit, complete_visit, lock_visits
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import MaterialUse, Work
from practice.reports.stop import Stop
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def visit():
    ProfileFactory()
    return VisitFactory()


def horse_with_a_past(visit, name: str, weeks: int = 6):
    """Return a horse that had fronts and a pad some weeks ago."""
    horse = HorseFactory(name=name, place=visit.place)
    past = VisitFactory(place=visit.place, status="done", date=DAY - timedelta(weeks=weeks))
    fronts = ServiceFactory(name="Fronts")
    WorkFactory(visit=past, horse=horse, service=fronts, price=D(99), note="cast a shoe", quantity=D(1))
    shoe = ItemFactory(name=f"Shoe of {name}")
    for foot in ("LF", "RF"):
        MaterialUseFactory(visit=past, horse=horse, item=shoe, foot=foot, price=D(5))
    return horse


def entered(visit) -> list[tuple]:
    rows = Work.objects.filter(visit=visit).order_by("pk")
    return list(rows.values_list("horse__name", "service__name", "price", "note"))


def test_it_copies_services_and_materials_but_no_price_and_no_note(visit):
    juniper, bramble = (horse_with_a_past(visit, name) for name in ("Juniper", "Bramble"))

    assert as_last_time(visit, [juniper, bramble, juniper]) == [juniper, bramble]

    assert entered(visit) == [("Juniper", "Fronts", None, ""), ("Bramble", "Fronts", None, "")]
    uses = MaterialUse.objects.filter(visit=visit, horse=juniper).order_by("pk")
    assert list(uses.values_list("item__name", "foot", "quantity", "price")) == [
        ("Shoe of Juniper", foot, 1, None) for foot in ("LF", "RF")
    ]


def test_a_second_tap_changes_nothing(visit):
    juniper = horse_with_a_past(visit, "Juniper")
    as_last_time(visit, [juniper])

    assert as_last_time(visit, [juniper]) == []
    assert (len(entered(visit)), MaterialUse.objects.filter(visit=visit).count()) == (1, 2)


@pytest.mark.parametrize(
    ("in_the_way", "code"),
    [
        (lambda visit, horse: Work.objects.filter(horse=horse).delete(), "never_done"),
        (lambda visit, horse: WorkFactory(visit=visit, horse=horse), "work_entered"),
        (lambda visit, horse: lock_visits([complete_visit(visit)]), "visit_locked"),
        (lambda visit, horse: cancel_visit(visit), "visit_cancelled"),
    ],
)
def test_one_horse_that_cannot_be_done_leaves_all_as_they_were(visit, in_the_way, code):
    juniper, bramble = (horse_with_a_past(visit, name) for name in ("Juniper", "Bramble"))
    in_the_way(visit, bramble)
    before = entered(visit)

    with pytest.raises(RuleBroken) as error:
        as_last_time(visit, [juniper, bramble])

    assert (error.value.code, entered(visit)) == (code, before)


def test_the_rest_of_a_stop_are_the_due_horses_with_a_past(visit, browser):
    late, due, early = (
        horse_with_a_past(visit, name, weeks) for name, weeks in (("Juniper", 7), ("Bramble", 6), ("Tom", 3))
    )
    agreed = HorseFactory(name="Pip", place=visit.place, next_call=DAY)
    stop = Stop(visit, Profile())
    assert [row.horse for row in stop.due] == [late, due, agreed]
    assert ([row.horse for row in stop.repeatable], stop.repeatable_names) == (
        [late, due],
        "Juniper and Bramble",
    )
    assert [row.horse for row in stop.others] == [early]

    answer = browser.post(f"{visit.get_absolute_url()}as-last-time/", {"horse": [late.pk, due.pk]})

    told = [str(message) for message in get_messages(answer.wsgi_request)]
    assert told == ["Saved as last time: Bramble and Juniper."]
    stop = Stop(visit, Profile())
    assert ([row.horse for row in stop.due], stop.can_be_done) == ([agreed], False)
    WorkFactory(visit=visit, horse=agreed)
    assert Stop(visit, Profile()).can_be_done


def test_the_form_of_a_horse_saves_it_as_last_time_and_goes_on_to_the_next_due_one(visit, browser):
    juniper, bramble = (horse_with_a_past(visit, name) for name in ("Juniper", "Bramble"))
    HorseFactory(name="Old Tom", place=visit.place)
    url = visit.horse_url(juniper)
    page = browser.get(url)
    assert page.context["can_repeat"]
    fresh = {"quantity": "1", "nails": "0", "again": "1"}

    for _ in range(2):  # A second tap before the page has changed does no harm.
        assert browser.post(url, fresh).headers["Location"] == visit.horse_url(bramble)
    assert browser.post(visit.horse_url(bramble), fresh).headers["Location"] == visit.get_absolute_url()
    assert [row[0] for row in entered(visit)] == ["Juniper", "Bramble"]
    assert not browser.get(url).context["can_repeat"]


def test_what_was_typed_is_never_thrown_away_for_the_last_time(visit, browser):
    juniper = horse_with_a_past(visit, "Juniper")
    pad = ItemFactory(name="Pad", kind="pad")

    answer = browser.post(visit.horse_url(juniper), {f"item_{pad.pk}": "2", "again": "1"})

    assert answer.context["form"].non_field_errors() == ["Tap what was done first."]
    assert entered(visit) == []
