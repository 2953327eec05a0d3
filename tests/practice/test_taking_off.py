"""A wrong horse comes out of a visit: its work is deleted, what it took goes back on the shelf."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages

from practice.actions.materials import return_materials
from practice.actions.visits import complete_visit, plan_visit
from practice.actions.work import take_horse_off
from practice.lib.errors import RuleBroken
from practice.models import Finding, MaterialUse, Visit, Work
from practice.reports.taken_off import TakenOff
from stock.models import Balance, Movement
from tests.factories.practice import (
    DAY,
    FindingFactory,
    HorseFactory,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory, receipt
from tests.lib.test_asking import field_of

pytestmark = pytest.mark.django_db
D = Decimal
ROWS = (Work.objects, MaterialUse.objects)


@pytest.fixture
def practice():
    return ProfileFactory()


@pytest.fixture
def visit(practice):
    """A done visit at which Juniper and Bramble got two shoes each, of ten."""
    visit, shoe = plan_visit(PlaceFactory(), DAY), ItemFactory(name="Shoe")
    receipt(shoe, "10", on=DAY - timedelta(1))
    fronts = ServiceFactory(name="Fronts")
    for name in ("Juniper", "Bramble"):
        horse = HorseFactory(name=name, place=visit.place)
        WorkFactory(visit=visit, horse=horse, service=fronts)
        MaterialUseFactory(visit=visit, horse=horse, item=shoe, quantity=D(2))
    return complete_visit(visit)


@pytest.fixture
def juniper(visit):
    return Work.objects.earliest("pk").horse


def state() -> tuple:
    """Whose work and materials there are, what is on the shelf, and how many facts there are."""
    names = [list(rows.order_by("pk").values_list("horse__name", flat=True)) for rows in ROWS]
    return (*names, Balance.objects.get().quantity, Movement.objects.count())


def test_its_work_and_materials_go_and_the_shelf_gets_them_back_by_a_new_fact(visit, juniper):
    before = state()
    FindingFactory(visit=visit, horse=juniper)

    take_horse_off(visit, juniper)

    both = ["Juniper", "Bramble"]
    assert before == (both, both, 6, 3)
    assert state() == (["Bramble"], ["Bramble"], 8, 4)
    assert Finding.objects.count() == 1


def test_findings_go_where_there_is_nothing_else_of_the_horse(visit):
    wrong = HorseFactory(name="Nettle")
    FindingFactory(visit=visit, horse=wrong)
    lead = TakenOff(visit, wrong).lead

    take_horse_off(visit, wrong)

    assert (lead, Finding.objects.count()) == ("Its 1 finding from this visit will be deleted.", 0)


def test_the_page_says_what_goes_and_what_stays(visit, juniper):
    FindingFactory(visit=visit, horse=juniper)

    assert TakenOff(visit, juniper).lead == (
        "Fronts and its materials will be deleted from this visit. The materials go back into stock."
        " Its 1 finding stays on record."
    )


def invoiced(visit, juniper, practice):
    Visit.objects.update(locked=True)


def billed_before(visit, juniper, practice):
    Visit.objects.update(billed=True)


def closed(visit, juniper, practice):
    practice.closed_through = DAY
    practice.save()


def returned(visit, juniper, practice):
    shoe = MaterialUse.objects.earliest("pk").item
    return_materials(visit, [(juniper, shoe, D(1))], on=DAY + timedelta(1))


def taken_off(visit, juniper, practice):
    take_horse_off(visit, juniper)


@pytest.mark.parametrize(
    ("first", "code"),
    [
        (invoiced, "visit_locked"),
        (billed_before, "visit_billed"),
        (closed, "day_closed"),
        (returned, "materials_returned"),
        (taken_off, "horse_not_at_visit"),
    ],
)
def test_what_stands_is_not_taken_off(visit, juniper, practice, first, code):
    first(visit, juniper, practice)
    before = state()

    with pytest.raises(RuleBroken) as refusal:
        take_horse_off(visit, juniper)

    assert (refusal.value.code, state()) == (code, before)


def test_the_page_asks_once_and_leads_back_to_the_visit(browser, visit, juniper):
    form = browser.get(visit.horse_url(juniper)).content.decode()
    url = f"{visit.horse_url(juniper)}remove/"
    asked = browser.get(url)
    before = state()

    answer = browser.post(url)

    assert f'href="{url}"' in form
    assert (asked.context["heading"], before[0]) == ("Take Juniper off this visit?", ["Juniper", "Bramble"])
    assert (answer.headers["Location"], state()[0]) == (visit.get_absolute_url(), ["Bramble"])
    assert [str(message) for message in get_messages(answer.wsgi_request)] == ["Juniper is off the visit."]


def test_a_form_of_what_was_billed_does_not_offer_it(browser, visit, juniper):
    Visit.objects.update(locked=True)

    assert "Take this horse off" not in browser.get(visit.horse_url(juniper)).content.decode()


def test_work_saved_after_the_page_was_opened_is_not_deleted_unseen(browser, visit, juniper):
    address = f"{visit.horse_url(juniper)}remove/"
    opened = field_of(browser.get(address), "opened")
    WorkFactory(visit=visit, horse=juniper, service=ServiceFactory(name="Lost shoe"))

    asked = browser.post(address, {"opened": opened})
    before = state()
    browser.post(address, {"opened": field_of(asked, "opened")})

    assert asked.context["form"].non_field_errors() == [
        "The work on this horse changed in the meantime. Read again what will be deleted."
    ]
    assert "Fronts, Lost shoe and its materials will be deleted" in asked.content.decode()
    assert (before[0], state()[0]) == (["Juniper", "Bramble", "Juniper"], ["Bramble"])
