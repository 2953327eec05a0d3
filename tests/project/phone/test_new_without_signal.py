"""A horse and a place that nobody knew of, met without signal: recorded like any other, in the book once."""

import re
from decimal import Decimal

import pytest

from practice.models import Finding, MaterialUse, PhoneEntry, Photo, Visit, Work
from tests.conftest import PHONE
from tests.factories.practice import (
    DAY,
    ClientFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory, receipt
from tests.pictures import photo
from tests.project.phone.test_day_without_signal import Hand, until_sent
from tests.project.phone.test_kept_in_browser import keeping
from tests.project.phone.test_queue import entries_on

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
MADE = "~[0-9a-f]{32}"


@pytest.fixture
def stop(settings, tmp_path):
    """A stop where a horse of Ann's stands, and a front shoe on the shelf."""
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path
    ProfileFactory()
    ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2)
    ServiceFactory(name="Trim")
    receipt(ItemFactory(name="Plain front, No 2", pattern="plain", size="2", fits="front"), "20", "3")
    horse = owned_horse(ClientFactory(name="Ann Birch"), name="Bramble", place__name="Ridge Barn")
    return VisitFactory(place=horse.place)


@pytest.fixture
def phone(open_page, user, stop):
    """A phone that has kept its pages, and has no signal any more."""
    page = keeping(open_page(*PHONE, user=user, service_workers="allow"))
    page.context.set_offline(True)
    return page


def shoe_fronts(page):
    """Tap new fronts of the size that is on the shelf."""
    page.get_by_role("button", name="Fronts").click()
    page.locator("summary", has_text="Front shoe").click()
    page.locator("[data-pair=front] .grid button").first.click()


def with_signal_again(page, to):
    """Close the tab, open another one with signal at an address, and wait until the book has all."""
    context = page.context
    page.close()
    context.set_offline(False)
    page = context.new_page()
    page.goto(to)
    until_sent(page)
    return page


def in_the_book():
    return {
        "work": list(Work.objects.values_list("visit__place__name", "horse__name", "service__name")),
        "shoes": list(MaterialUse.objects.order_by("foot").values_list("item__name", "foot")),
        "to settle": list(PhoneEntry.objects.to_settle().values_list("title", "message")),
    }


SHOES = [("Plain front, No 2", "LF"), ("Plain front, No 2", "RF")]


def test_a_horse_met_at_a_stop_has_its_form_at_once(phone, stop):
    hand, at = Hand(phone), stop.get_absolute_url()
    phone.goto(at)
    hand.follow("Add a horse that is not in the book")
    phone.get_by_label("Horse").fill('Sorrel <& "Fox">')
    phone.get_by_label("Name of another owner").fill("Petra Quill")
    hand.send("Save", f"{at}horses/~*/")
    heading = phone.get_by_role("heading", level=1).inner_text()
    aisle = [" ".join(each.split()) for each in phone.locator(".aisle a").all_inner_texts()]
    shoe_fronts(phone)
    hand.send(re.compile("^Save"), at)
    row = phone.get_by_role("link", name="Sorrel")
    said = " ".join(row.inner_text().split())
    row.click()
    phone.get_by_text("Filled in as recorded on this phone.").wait_for()
    chosen = phone.locator("[name=pick][aria-pressed=true]").inner_text().split()[0]
    titles = [title for title, *_ in entries_on(phone)]

    with_signal_again(phone, "/round/")

    assert (heading, said, chosen) == (
        'Sorrel <& "Fox">',
        'Sorrel <& "Fox"> Saved on this phone',
        "Fronts",
    )
    assert aisle == ["Bramble new", 'Sorrel <& "Fox"> new']
    assert titles == [
        'A new horse at Ridge Barn: Sorrel <& "Fox">',
        'Sorrel <& "Fox"> at Ridge Barn',
    ]
    assert in_the_book() == {
        "work": [("Ridge Barn", 'Sorrel <& "Fox">', "Fronts")],
        "shoes": SHOES,
        "to settle": [],
    }


def test_a_stop_at_a_new_place_is_worked_through_before_the_book_knows_it(phone):
    hand = Hand(phone)
    phone.goto("/round/")
    hand.follow(re.compile("^Plan a"))
    phone.get_by_label("Or a new place").fill("Hollow Farm")
    hand.send("Plan this stop", f"/round/{DAY}/")
    phone.get_by_role("link", name="Hollow Farm").click()
    phone.wait_for_url(re.compile(f"/visits/{MADE}/$"))
    stop = phone.url.partition("/visits/")[2]
    heading = phone.get_by_role("heading", level=1).inner_text()
    hand.send("I am here", f"/visits/{stop}")
    hand.follow("Add a horse")
    phone.get_by_label("Horse").fill("Sorrel")
    phone.get_by_label("Owner's name").fill("Petra Quill")
    hand.send("Save", f"/visits/{stop}horses/~*/")
    there = phone.url.partition("/visits/")[2]
    hand.follow("Add a finding")
    named = phone.get_by_role("heading", level=1).inner_text()
    phone.locator("input[name=foot][value=LF]").check(force=True)
    phone.locator("input[name=zone]").first.check(force=True)
    phone.locator("input[name=kind]").nth(1).check(force=True)
    phone.get_by_label("Photos").set_input_files(
        {"name": "hoof.jpg", "mimeType": "image/jpeg", "buffer": photo((800, 600))}
    )
    phone.locator("ul.photos li").first.wait_for()
    hand.send("Save the finding", f"/visits/{there}")
    hand.follow("Shoeing record")
    phone.locator("[name=LF_toe_length]").fill("3.25")
    hand.send("Save", f"/visits/{there}")
    shoe_fronts(phone)
    hand.send(re.compile("^Save"), f"/visits/{stop}")
    hand.send("The stop is done", f"/round/{DAY}/")
    before = entries_on(phone)

    page = with_signal_again(phone, f"/visits/{there}")

    assert (heading, named) == ("Hollow Farm is saved on this phone.", "A finding on Sorrel")
    assert len(before) == 7
    assert in_the_book() == {
        "work": [("Hollow Farm", "Sorrel", "Fronts")],
        "shoes": SHOES,
        "to settle": [],
    }
    visit, finding = Visit.objects.get(place__name="Hollow Farm"), Finding.objects.get()
    assert (visit.status, finding.visit, finding.horse.name, Photo.objects.count()) == (
        "done",
        visit,
        "Sorrel",
        1,
    )
    assert visit.feet.filter(toe_length=Decimal("3.25")).exists()
    page.reload()
    page.wait_for_url(lambda url: f"{visit.horse_url(finding.horse)}#" in url)  # its address here leads there


def add_horse(phone, stop) -> None:
    """Add a horse at a stop without signal; its form opens."""
    hand, at = Hand(phone), stop.get_absolute_url()
    phone.goto(f"{at}horses/add/")
    phone.get_by_label("Horse").fill("Sorrel")
    phone.get_by_label("Name of another owner").fill("Petra Quill")
    hand.send("Save", f"{at}horses/~*/")


def test_what_was_not_saved_of_a_new_horse_is_still_there_once_the_book_has_the_horse(phone, stop):
    add_horse(phone, stop)
    shoe_fronts(phone)

    page = with_signal_again(phone, "/")
    page.get_by_role("link", name="Sorrel, Ridge Barn").click()

    page.get_by_text("Restored what you had not saved yet.").wait_for()
    assert page.locator("[name=pick][aria-pressed=true]").inner_text().split()[0] == "Fronts"
    page.get_by_role("button", name=re.compile("^Save")).last.click()
    page.wait_for_url(lambda url: "#" not in url)
    assert in_the_book()["work"] == [("Ridge Barn", "Sorrel", "Fronts")]
    page.goto("/")
    assert not page.locator("#drafts").is_visible()


def test_a_new_horse_that_is_deleted_on_the_phone_takes_along_what_was_entered_for_it(phone, stop):
    add_horse(phone, stop)
    shoe_fronts(phone)
    Hand(phone).send(re.compile("^Save"), stop.get_absolute_url())
    asked = []
    phone.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.accept()))

    phone.goto("/phone/entries/")
    phone.get_by_role("button", name="Delete").first.click()
    phone.get_by_text("Nothing is waiting.").wait_for()

    title = "A new horse at Ridge Barn: Sorrel"
    assert asked == [f"Delete “{title}”? It is not in the book. What you entered for it goes with it."]
    assert entries_on(phone) == []
