"""Lots and use-by dates of sealants and adhesives: first expired, first out."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from stock.actions.movements import NewFact, add_facts, receive_item, reverse_movements
from stock.models import Purchase
from stock.reports.lots import LotLeft, LotMovement, expiring, lots_left, lots_on_hand
from tests.factories.practice import ProfileFactory
from tests.factories.stock import ItemFactory, LocationFactory

DAY = date(2026, 10, 14)
EARLY, LATE = date(2026, 11, 1), date(2027, 3, 1)
D = Decimal


def came(quantity, lot="", use_by=None):
    return LotMovement(D(quantity), lot, use_by, is_delivery=True)


def went(quantity):
    return LotMovement(D(-quantity))


def test_what_expires_first_goes_first_whatever_came_first():
    moves = [came(100, "B", LATE), came(100, "A", EARLY), came(100), went(130)]

    assert lots_left(moves) == [("B", LATE, 70), ("", None, 100)]


def test_what_was_not_there_yet_was_not_used():
    assert lots_left([came(100, "B", LATE), went(60), came(100, "A", EARLY)]) == [
        ("A", EARLY, 100),
        ("B", LATE, 40),
    ]


def test_what_comes_back_is_of_the_lot_last_opened():
    moves = [came(100, "B", LATE), came(10, "A", EARLY), went(30), LotMovement(D(5))]

    assert lots_left(moves) == [("B", LATE, 85)]


def test_what_was_used_before_it_was_recorded_comes_off_the_next_delivery():
    assert lots_left([came(10, "A", EARLY), went(30), came(100, "B", LATE)]) == [("B", LATE, 80)]


MOVES = st.lists(
    st.one_of(
        st.builds(came, st.integers(1, 50), st.sampled_from("AB"), st.sampled_from([EARLY, LATE, None])),
        st.builds(went, st.integers(1, 50)),
        st.builds(lambda n: LotMovement(D(n)), st.integers(1, 9)),
    ),
    max_size=20,
)


@given(MOVES)
def test_lots_add_up_to_what_is_on_hand(moves):
    left = sum((quantity for *_, quantity in lots_left(moves)), D(0))

    on_hand = sum((moved.quantity for moved in moves), D(0))
    assert left == max(on_hand, 0)


def sealant():
    item = ItemFactory(name="Sole sealant", kind="sealant", unit="ml")
    for lot, use_by, day in (("B", LATE, 0), ("A", EARLY, 1)):
        receive_item(item, D(100), D("0.1"), on=DAY + timedelta(day), lot=lot, use_by=use_by)
    add_facts([NewFact(item, DAY + timedelta(2), "use", D(40))])
    return item


@pytest.mark.django_db
def test_lots_on_hand_are_those_of_the_end_of_the_day():
    item = sealant()

    assert lots_on_hand([item.pk], DAY) == [LotLeft(item, "B", LATE, D(100))]
    assert lots_on_hand([item.pk], DAY + timedelta(2)) == [
        LotLeft(item, "A", EARLY, D(60)),
        LotLeft(item, "B", LATE, D(100)),
    ]


@pytest.mark.django_db
def test_a_delivery_that_was_undone_is_no_lot_and_a_transfer_changes_none():
    item = sealant()
    LocationFactory()
    other = LocationFactory()
    wrong = receive_item(item, D(50), D("0.1"), on=DAY, lot="C", use_by=EARLY - timedelta(1))
    add_facts([NewFact(item, DAY + timedelta(3), "transfer", D(70), to_location=other)])
    before = [(row.lot, row.quantity) for row in lots_on_hand([item.pk], DAY + timedelta(3))]

    reverse_movements([wrong])

    after = [(row.lot, row.quantity) for row in lots_on_hand([item.pk], DAY + timedelta(3))]
    assert (before, after) == ([("C", 10), ("A", 100), ("B", 100)], [("A", 60), ("B", 100)])


@pytest.mark.django_db
def test_the_truck_says_what_expires(browser, settings):
    ProfileFactory()
    item = sealant()
    settings.TODAY = EARLY + timedelta(1)

    first, second = LotLeft(item, "A", EARLY, D(60)), LotLeft(item, "B", LATE, D(100))
    assert [expiring(LATE - timedelta(days)) for days in (61, 60)] == [[first], [first, second]]
    page = browser.get(reverse("stock:truck")).content.decode()
    assert "Sole sealant, lot A" in page
    assert "expired Nov 1, 2026" in page
    assert "Expired: do not use." in page


@pytest.mark.django_db
def test_only_what_expires_is_asked_for_its_lot(browser):
    glue, shoe = ItemFactory(kind="adhesive", unit="ml"), ItemFactory()
    typed = {"date": DAY.isoformat(), "quantity": "10", "unit_cost": "0.3"}

    for item in (glue, shoe):
        browser.post(
            reverse("stock:item-receive", args=[item.pk]),
            typed | {"lot": "K7", "use_by": EARLY.isoformat()},
        )

    found = Purchase.objects.order_by("pk").values_list("movement__item", "lot", "use_by")
    assert list(found) == [(glue.pk, "K7", EARLY), (shoe.pk, "", None)]
