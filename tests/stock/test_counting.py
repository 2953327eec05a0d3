"""Counting a location: the sheet, what is saved on it, its differences, what to count and why."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.counting import TypedCount, post_counts, save_counts, try_counts
from stock.actions.movements import NewFact, add_facts, count_item
from stock.models import Found, Item, Movement, Shelf
from stock.reports.counting import CountDifference, ToCount, sheet_of, shelf_key, things_to_count
from tests.factories.stock import ItemFactory, LocationFactory, receipt

pytestmark = pytest.mark.django_db
DAY = date(2026, 10, 14)
D = Decimal


def found():
    return list(Found.objects.order_by("item").values_list("item", "location", "date", "quantity"))


def test_a_sheet_is_in_the_order_of_the_shelf():
    nail = ItemFactory(kind="nail", pattern="slim", size="5")
    ten, two, double = (ItemFactory(pattern="plain", size=size, fits="front") for size in ("10", "2", "00"))
    right, left = (ItemFactory(pattern="bar", size="2", side=side) for side in ("right", "left"))
    by_the_door = ItemFactory(kind="fuel", shelf_order=1)

    assert sorted(Item.objects.all(), key=shelf_key) == [by_the_door, left, right, double, two, ten, nail]
    labels = [(label, len(lines)) for label, lines in sheet_of(None).sections]
    assert labels == [("Forge fuel", 1), ("Shoes", 5), ("Nails", 1)]


def test_a_sheet_half_filled_in_keeps_every_line():
    shoe, nail = ItemFactory.create_batch(2)

    save_counts(None, DAY, {shoe: TypedCount(D(4))})
    save_counts(None, DAY + timedelta(1), {nail: TypedCount(D(0))})
    save_counts(None, DAY + timedelta(1), {shoe: TypedCount(None)})

    assert found() == [(nail.pk, None, DAY + timedelta(1), 0)]
    assert Movement.objects.count() == 0


def test_differences_are_shown_before_anything_is_posted():
    shoe, nail, truck = ItemFactory(), ItemFactory(), LocationFactory()
    for item in (shoe, nail):
        receipt(item, "10", "3")
    save_counts(truck, DAY, {shoe: TypedCount(D(8)), nail: TypedCount(D(10))})

    assert try_counts(truck) == [
        CountDifference(shoe, D(10), D(8), D(-6)),
        CountDifference(nail, D(10), D(10), D(0)),
    ]
    assert (Movement.objects.count(), Found.objects.count()) == (2, 2)

    assert post_counts(truck) == 2
    assert list(Shelf.objects.order_by("item").values_list("on_hand", "value")) == [(8, 24), (10, 30)]
    assert found() == []


def test_what_is_not_on_the_sheet_stays_as_it_is():
    shoe, nail = ItemFactory.create_batch(2)
    for item in (shoe, nail):
        receipt(item, "10", "3")
    save_counts(None, DAY, {shoe: TypedCount(D(8))})

    post_counts(None)

    assert dict(Shelf.objects.values_list("item", "on_hand")) == {shoe.pk: 8, nail.pk: 10}


def test_an_opening_shelf_is_counted_with_its_cost():
    shoe = ItemFactory()
    save_counts(None, DAY, {shoe: TypedCount(D(8), D("3.40"))})

    assert sheet_of(None).lines[0].asks_cost
    assert try_counts(None) == [CountDifference(shoe, D(0), D(8), D("27.2"))]


def test_a_sheet_of_a_closed_day_is_not_posted_and_stays():
    Profile.objects.create(name="x", closed_through=DAY)
    shoe = ItemFactory()
    save_counts(None, DAY, {shoe: TypedCount(D(8), D("3.40"))})

    for action in (try_counts, post_counts):
        with pytest.raises(RuleBroken):
            action(None)

    assert (found(), Movement.objects.count()) == ([(shoe.pk, None, DAY, 8)], 0)


def test_what_was_counted_before_there_were_locations_is_on_the_sheet_of_the_first():
    shoe = ItemFactory()
    save_counts(None, DAY, {shoe: TypedCount(D(8), D("3.40"))})
    first, second = LocationFactory.create_batch(2)

    assert [len(sheet_of(place).filled) for place in (first, second)] == [1, 0]
    save_counts(first, DAY, {shoe: TypedCount(D(9), D("3.40"))})
    assert found() == [(shoe.pk, None, DAY, 9)]


def test_an_empty_sheet_is_not_posted():
    with pytest.raises(RuleBroken) as refused:
        post_counts(None)

    assert refused.value.code == "sheet_is_empty"


def used(item, quantity, on):
    add_facts([NewFact(item, on, "use", D(quantity))])


def test_what_to_count_says_why():
    short, old, never, fresh, still = ItemFactory.create_batch(5)
    long_ago = DAY - timedelta(92)
    for item in (short, old, fresh, still):
        count_item(item, D(10), on=long_ago, unit_cost=D(3))
    used(short, 12, DAY - timedelta(91))
    count_item(fresh, D(10), on=DAY - timedelta(29))
    used(fresh, 5, DAY)
    used(old, 1, DAY)
    receipt(never, "3", on=DAY)

    assert things_to_count(DAY) == [
        ToCount(short, below=[("", D(-2))], since=long_ago),
        ToCount(never, never=True),
        ToCount(old, since=long_ago, used=D(1)),
    ]


def test_the_sheet_page_saves_what_it_can_read_and_says_what_it_cannot(browser):
    shoe, nail = ItemFactory.create_batch(2)
    address = "/counts/0/"
    typed = {"date": DAY.isoformat(), f"found_{shoe.pk}": "8", f"found_{nail.pk}": "a few", "look": "1"}

    answer = browser.post(address, typed)

    assert found() == [(shoe.pk, None, DAY, 8)]
    assert answer.context["form"].errors == {f"found_{nail.pk}": ["Type a number such as 14."]}
    assert 'value="a few"' in answer.content.decode()


def test_two_who_fill_in_one_sheet_do_not_empty_each_others_lines(browser):
    shoe, nail = ItemFactory.create_batch(2)
    page = {"date": DAY.isoformat(), f"initial-found_{shoe.pk}": "", f"initial-found_{nail.pk}": ""}

    browser.post("/counts/0/", page | {f"found_{shoe.pk}": "8", f"found_{nail.pk}": ""})
    browser.post("/counts/0/", page | {f"found_{shoe.pk}": "", f"found_{nail.pk}": "120"})
    emptied = page | {f"initial-found_{shoe.pk}": "8", f"found_{shoe.pk}": "", f"found_{nail.pk}": ""}
    browser.post("/counts/0/", emptied)

    assert found() == [(nail.pk, None, DAY, 120)]


def test_the_sheet_on_paper_shows_each_thing_and_not_what_the_book_expects(browser):
    import io

    from pypdf import PdfReader

    shoe = ItemFactory(name="Plain front, No 2", size="2", pack_size=10)
    receipt(shoe, "77", "3")

    answer = browser.get("/counts/0/paper/")

    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    assert answer.headers["Content-Type"] == "application/pdf"
    assert "Plain front, No 2" in text and "each, 10 to a pack" in text and "77" not in text
