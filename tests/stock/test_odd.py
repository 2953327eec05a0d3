"""What is possible but odd about stock: the thresholds, and the pages that ask once."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from stock.models import Found, Item, Movement, OrderLine
from stock.rules.odd import over_ordered, times_usual, usual_of
from tests.factories.practice import ProfileFactory
from tests.factories.stock import FoundFactory, ItemFactory, OrderLineFactory, receipt
from tests.lib.test_asking import field_of

D = Decimal
DAY = date(2026, 10, 14)
amounts = st.decimals(min_value=0, max_value=10**6, places=2)


@given(st.lists(amounts, max_size=9), amounts)
def test_more_than_ten_times_the_usual_is_odd_and_nothing_else(before, value):
    usual, times = usual_of(before), times_usual(value, before)

    if usual is None:
        assert times is None and not any(before)
    else:
        assert usual in before
        assert (times is not None) == (value > 10 * usual)
        assert times is None or times * usual <= value < (times + 1) * usual


@given(amounts, st.decimals(min_value=-100, max_value=10**6, places=2))
def test_what_came_beyond_what_was_still_to_come_is_over(received, to_come):
    over = over_ordered(received, to_come)

    assert over >= 0 and (over > 0) == (received > max(to_come, 0))
    assert over == 0 or received - over == max(to_come, 0)


@pytest.fixture
def pages(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return browser


def questions(answer) -> list[str]:
    return [question for question, _ in answer.context["form"].questions]


@pytest.mark.django_db
def test_a_delivery_far_above_the_usual_is_asked_about_once(pages):
    item = ItemFactory()
    receipt(item, "20", "3.40")
    address = reverse("stock:item-receive", args=[item.pk])
    typed = {"date": DAY.isoformat(), "quantity": "2000", "unit_cost": "340"}

    asked = pages.post(address, typed)
    before = Movement.objects.count()
    pages.post(address, typed | {"right": field_of(asked, "right")})

    assert questions(asked) == [
        "That is 100 times the usual delivery. Is it right?",
        "That is 100 times the usual cost. Is it right?",
    ]
    assert (before, Movement.objects.count()) == (1, 2)


@pytest.mark.django_db
def test_more_received_than_ordered_is_asked_about_by_item(pages):
    line = OrderLineFactory(item=ItemFactory(name="Plain front, No 2"), unit_price=D(3))
    typed = {"date": DAY.isoformat(), "seen": "0", f"quantity_{line.pk}": "22", f"price_{line.pk}": "31"}

    asked = pages.post(reverse("stock:order-receive", args=[line.order.pk]), typed)

    assert questions(asked) == [
        "Plain front, No 2: that is 2 more than was still to come. Is it right?",
        "Plain front, No 2: that is 10 times the usual price. Is it right?",
    ]
    assert Movement.objects.count() == 0


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("page", "typed", "errors"),
    [
        (
            "receive",
            {"date": "2026-10-15", "quantity": "2.5", "unit_cost": "3"},
            {
                "date": ["This day is still ahead. Type today, 2026-10-14, or an earlier day."],
                "quantity": ["Type a whole number, such as 20."],
            },
        ),
        (
            "count",
            {"date": "2026-10-14", "quantity": "2.5"},
            {"quantity": ["Type a whole number, such as 14."]},
        ),
        (
            "waste",
            {"date": "2026-10-14", "quantity": "0.5"},
            {"quantity": ["Type a whole number, such as 2."]},
        ),
    ],
)
def test_what_is_counted_singly_is_whole_and_no_fact_is_ahead(pages, page, typed, errors):
    answer = pages.post(reverse(f"stock:item-{page}", args=[ItemFactory().pk]), typed)

    assert answer.context["form"].errors == errors


@pytest.mark.django_db
def test_an_item_of_the_same_name_and_a_price_far_above_the_one_before_are_asked_about(pages):
    ItemFactory(name="Plain front, No 2")
    item = ItemFactory(name="Side clips", sale_price=D(4))
    typed = {
        "kind": "shoe",
        "fits": "any",
        "side": "any",
        "unit": "each",
        "pack_size": "1",
        "service_level": "95",
    }

    asked = pages.post(
        reverse("stock:item-change", args=[item.pk]),
        typed | {"name": "plain  Front, No 2", "sale_price": "45"},
    )
    half = pages.post(reverse("stock:item-add"), typed | {"name": "Nail", "pack_size": "2.5"})

    assert questions(asked) == [
        "Another item is named Plain front, No 2 too. Is this a second one?",
        "That is 11 times the price so far. Is it right?",
    ]
    assert half.context["form"].errors == {
        "pack_size": ["What is counted singly comes in whole numbers, such as 250."]
    }
    assert Item.objects.get(pk=item.pk).name == "Side clips"


@pytest.mark.django_db
def test_an_order_that_someone_else_changed_is_not_replaced(pages):
    line = OrderLineFactory(order__ordered_on=DAY - timedelta(3))
    address, packs = reverse("stock:order-change", args=[line.order.pk]), f"packs_{line.item.pk}"
    opened = field_of(pages.get(address), "opened")
    OrderLine.objects.update(quantity=50)

    answer = pages.post(address, {"date": "2026-10-11", packs: "3", "opened": opened})

    [clash] = answer.context["form"].clashes
    assert (clash.saved, clash.typed) == ("5", "3")
    assert OrderLine.objects.get().quantity == 50


@pytest.mark.django_db
def test_a_count_that_someone_else_saved_is_replaced_only_on_purpose(pages):
    item = FoundFactory(item=ItemFactory(), date=DAY, quantity=14).item
    address, name = reverse("stock:count-sheet", args=[0]), f"found_{item.pk}"
    typed = {"date": DAY.isoformat(), name: "15", "later": "1"}

    told = pages.post(address, typed | {f"initial-{name}": "12"})
    stays = Found.objects.get().quantity
    pages.post(address, typed | {f"initial-{name}": field_of(told, f"initial-{name}")})

    assert told.context["form"].errors == {
        name: ["Someone saved 14 here in the meantime. Save the sheet to replace it with yours."]
    }
    assert (stays, Found.objects.get().quantity) == (14, 15)
