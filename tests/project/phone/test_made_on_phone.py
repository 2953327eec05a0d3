"""A stop and a horse that the book does not know yet: their pages, and where their addresses lead."""

from uuid import uuid4

import pytest

from billing.models import Price
from practice.models import Finding, FootRecord, Horse, PhoneEntry, Place, Visit, Work
from stock.models import Balance
from tests.factories.practice import (
    DAY,
    HorseFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory, receipt
from tests.project.phone.phones import NOON, answers_to, recorded

pytestmark = pytest.mark.django_db
NEW = {
    "stop": "/visits/~/",
    "a new horse there": "/visits/~/horses/add/",
    "its work": "/visits/~/horses/~/",
    "a finding": "/visits/~/horses/~/finding/",
    "its shoeing record": "/visits/~/horses/~/feet/",
}


@pytest.fixture
def book(settings):
    """A practice with a service, an item on the shelf, and a stop today where a horse stands."""
    settings.TODAY = DAY
    ProfileFactory()
    Price.objects.create(service=ServiceFactory(name="Trim"), valid_from=DAY, price=45)
    receipt(ItemFactory(name="Plain front, No 2", pattern="plain", size="2"), "20", "3")
    return VisitFactory(place=owned_horse(place__name="Ridge Barn").place)


@pytest.mark.parametrize("path", NEW.values(), ids=NEW)
def test_a_page_of_what_is_not_in_the_book_can_be_read_and_saves_nothing(book, browser, path):
    shown, sent = browser.get(path), browser.post(path, {"name": "Sorrel", "new_owner": "Petra"})

    assert (shown.status_code, sent.status_code) == (200, 405)
    assert (Horse.objects.count(), Visit.objects.count(), Finding.objects.count()) == (1, 1, 0)


def test_nothing_else_has_a_page_without_being_in_the_book(book, browser):
    paths = ["/horses/~/", "/places/~/", "/visits/~/move/", "/visits/~/next-call/", f"/visits/{book.pk}/~/"]

    assert {browser.get(path).status_code for path in paths} == {404}


def test_the_form_of_a_new_horse_has_prices_items_and_the_horses_beside_it(book, browser):
    at_known, at_new = (browser.get(f"/visits/{stop}/horses/~/") for stop in (book.pk, "~"))

    for page in (at_known, at_new):
        html = " ".join(page.content.decode().split())
        assert ("45.00" in html, "Plain front, No 2" in html, "<h1>~horse</h1>" in html) == (True,) * 3
        assert "hx-post" not in html.partition('id="sum"')[2].partition(">")[0]
    assert [str(row.horse) for row in at_known.context["horses"]] == [str(Horse.objects.get()), "~horse"]
    assert [str(row.horse) for row in at_new.context["horses"]] == ["~horse"]
    assert Balance.objects.get().quantity == 20


def test_a_row_that_came_is_led_to_and_the_form_that_was_sent_there_too(book, browser):
    horse, stop = HorseFactory(), VisitFactory()
    address = f"/visits/~{stop.uuid.hex}/horses/~{horse.uuid.hex}/?q=1"

    read, sent = browser.get(address), browser.post(address, {"save": "1"})

    assert (read.status_code, read.url) == (307, f"/visits/{stop.pk}/horses/{horse.pk}/?q=1#{address}")
    assert (sent.status_code, sent.url) == (307, read.url)


def test_a_row_that_has_to_be_settled_first_is_led_to_and_one_that_nobody_knows_is_no_page(book, browser):
    known = HorseFactory(name="Sorrel", place=book.place)
    entry = recorded(f"/visits/{book.pk}/horses/add/", name=known.name, new_owner="Petra", cycle_weeks="6")
    assert answers_to(browser, entry) == [("to settle", "asks")]

    waits = browser.get(f"/visits/{book.pk}/horses/~{entry['uuid']}/")
    unknown = browser.get(f"/visits/{book.pk}/horses/~{uuid4().hex}/")

    assert waits.url == f"/phone/settle/{PhoneEntry.objects.get().pk}/"
    assert unknown.status_code == 404


def test_what_names_a_row_that_is_not_there_is_kept_though_somebody_looks_at_its_form(book, browser):
    entry = recorded(f"/visits/{book.pk}/horses/~{uuid4().hex}/finding/", foot="LF", zone="toe", kind="crack")

    assert answers_to(browser, entry, live=entry["uuid"]) == [("to settle", "not_found")]
    assert PhoneEntry.objects.get().fields[0] == ["foot", "LF"]


def test_a_new_stop_with_a_new_horse_its_work_finding_and_record_arrive_in_order(book, browser):
    stop, horse = uuid4().hex, uuid4().hex
    at = f"/visits/~{stop}/"
    there = f"{at}horses/~{horse}/"
    fronts, shoe = ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2), ItemFactory(name="Plain hind")
    carried = browser.get("/visits/~/horses/~/").context["form"].opened
    work = {"work": fronts.pk, f"quantity_{fronts.pk}": 1, "foot": ["LF", "RF"], "shoe_LF": shoe.pk}

    answers = answers_to(
        browser,
        recorded(f"/round/{DAY}/plan/", uuid=stop, date=DAY, new_place="Hollow Farm", at=NOON),
        recorded(f"{at}arrive/", at=NOON),
        recorded(f"{at}horses/add/", uuid=horse, name="Sorrel", new_owner="Petra", cycle_weeks=6, at=NOON),
        recorded(there, opened=carried, save="1", **work, shoe_RF=shoe.pk, nails="0", at=NOON),
        recorded(f"{there}finding/", foot="LF", zone="toe", kind="crack", at=NOON),
        recorded(f"{there}feet/", LF_clips="side", LF_toe_length="3.25", at=NOON),
        recorded(f"{at}complete/", at=NOON),
    )

    assert answers == [("saved", "")] * 7
    visit = Visit.objects.get(place__name="Hollow Farm")
    assert (visit.status, visit.arrived is not None, Place.objects.count()) == ("done", True, 2)
    assert list(Work.objects.values_list("visit", "horse__name", "service__name")) == [
        (visit.pk, "Sorrel", "Fronts")
    ]
    assert list(visit.materials.order_by("foot").values_list("item__name", "foot", "quantity")) == [
        ("Plain hind", "LF", 1),
        ("Plain hind", "RF", 1),
    ]
    assert (Finding.objects.get().horse.name, FootRecord.objects.filter(horse__name="Sorrel").exists()) == (
        "Sorrel",
        True,
    )
