"""Entered twice: from the page of an entry to the other one, over what would move, and back again."""

from datetime import UTC, datetime, time
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages

from billing.actions.invoicing import close_days
from billing.actions.merging import merge
from practice.lib.merges import Merge
from practice.models import Client, Horse, Place
from practice.project.book.exporter import export_book
from stock.models import Item
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
    trim,
)
from tests.factories.stock import ItemFactory, receipt

D = Decimal
NOON = datetime.combine(DAY, time(12), UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DAY
    return ProfileFactory()


def in_order(page: str) -> str:
    return " ".join(page.split())


@pytest.mark.parametrize(
    "make, model, kind",
    [
        (ClientFactory, Client, "clients"),
        (HorseFactory, Horse, "horses"),
        (PlaceFactory, Place, "places"),
        (ItemFactory, Item, "items"),
    ],
)
def test_two_entries_are_merged_and_parted_from_their_pages(browser, make, model, kind):
    kept, taken = make(name="Juniper"), make(name="Juniper B")
    other = make(name="Zorn")

    page = browser.get(f"/{kind}/{kept.pk}/").content.decode()
    found = browser.get(f"/{kind}/{kept.pk}/merge/").context["rows"]
    [row] = found
    preview = browser.get(row.url)
    answer = browser.post(row.url)
    after = browser.get(answer.url).content.decode()
    merge_row = Merge.objects.get()

    assert f'href="/{kind}/{kept.pk}/merge/"' in page
    assert row.name == "Juniper B"
    assert preview.context["preview"].refusal == ""
    assert ">Merge</button>" in in_order(preview.content.decode()).replace("> ", ">").replace(" <", "<")
    assert f'href="/{kind}/{taken.pk}/merge/?other={kept.pk}"' in preview.content.decode()
    assert set(model.objects.all()) == {kept, other}
    assert "Merged with a second entry, Juniper B, on Oct 14, 2026." in in_order(after)

    undone = browser.post(f"/merges/{merge_row.pk}/undo/")

    assert undone.url == f"/{kind}/{kept.pk}/"
    assert set(model.objects.all()) == {kept, taken, other}
    assert "Merged with" not in browser.get(undone.url).content.decode()


def test_the_choice_is_searched_by_name(browser):
    kept, other = PlaceFactory(name="Barn"), PlaceFactory(name="Long lane", address="3 Lane\nQuillby")

    rows = browser.get(f"/places/{kept.pk}/merge/?q=lane").context["rows"]

    assert [(row.name, row.more, row.url) for row in rows] == [
        ("Long lane", "3 Lane", f"/places/{kept.pk}/merge/?other={other.pk}")
    ]


def test_the_preview_counts_what_moves_and_says_what_becomes_of_each_value(browser):
    kept = ClientFactory(name="Ann", phone="555-0100", notes="Gate 4711.")
    taken = ClientFactory(name="Anne", phone="555-0199", email="ann@example.com", notes="Pays late.")
    trim(taken)
    close_days(DAY, DAY, DAY)

    preview = browser.get(f"/clients/{kept.pk}/merge/?other={taken.pk}").context["preview"]

    assert (preview.moves, preview.stays_out) == ("1 owner's share, 1 invoice, 1 invoice line", "")
    assert [(row.name, *row.cells) for row in preview.fields.rows] == [
        ("Name", "Ann", "Anne", "stays as it is"),
        ("Email", "–", "ann@example.com", "taken over"),
        ("Phone", "555-0100", "555-0199", "stays as it is"),
        ("Notes", "Gate 4711.", "Pays late.", "both are kept"),
    ]


def test_what_a_horse_has_its_own_of_is_left_out(browser):
    first, second = trim().horse, trim().horse

    preview = browser.get(f"/horses/{first.pk}/merge/?other={second.pk}").context["preview"]

    assert preview.moves == "1 piece of work"
    assert preview.stays_out == "1 owner's share"


def test_a_refusal_is_told_before_the_press_and_after_it(browser):
    work = trim()
    other = trim(place=work.visit.place).horse
    other.work.update(visit=work.visit)
    address = f"/horses/{work.horse.pk}/merge/?other={other.pk}"
    why = f"Both entries have something recorded at {work.visit.place} on 2026-10-14"

    pages = [browser.get(address), browser.post(address)]

    assert [page.status_code for page in pages] == [200, 200]
    assert all(why in in_order(page.content.decode()) for page in pages)
    assert not any(">Merge</button>" in in_order(page.content.decode()) for page in pages)
    assert Merge.objects.count() == 0


@pytest.mark.parametrize("other", ["", "0", "abc", "999999"])
def test_an_entry_that_is_not_there_is_not_found(browser, other):
    assert browser.get(f"/places/{PlaceFactory().pk}/merge/?other={other}").status_code == 404


def test_the_page_says_of_an_older_merge_but_does_not_offer_to_undo_it(browser, settings):
    barn = PlaceFactory()
    record = merge(barn, PlaceFactory(name="The barn"), by="", at=NOON, today=DAY)
    settings.TODAY = DAY.replace(day=15)

    page = browser.get(f"/places/{barn.pk}/").content.decode()
    answer = browser.post(f"/merges/{record.pk}/undo/")

    assert "Merged with a second entry, The barn" in page
    assert "Undo the merge" not in page
    assert [str(each) for each in get_messages(answer.wsgi_request)] == [
        "A merge can be undone only on the day it was made."
    ]


def test_a_merged_book_goes_out_and_comes_back_byte_for_byte(check_it_comes_back, tmp_path):
    first, second = ClientFactory(name="Ann"), ClientFactory(name="Anne")
    for client, price in ((first, "80"), (second, "60")):
        trim(client, price=price)
    close_days(DAY, DAY, DAY)
    horses = [trim(first, on=DAY.replace(day=number), price="10").horse for number in (15, 16)]
    places = [PlaceFactory(), PlaceFactory()]
    VisitFactory(place=places[1])
    items = [ItemFactory(kind="shoe"), ItemFactory(kind="shoe")]
    for item in items:
        receipt(item, "5", on=DAY)
    for kept, taken in ((first, second), horses, places, items):
        merge(kept, taken, by="farrier", at=NOON, today=DAY)

    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")
