"""What may run short before what is on order comes: told as such, and no reason to order more."""

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.urls import reverse

from practice.reports.planner import plan_on
from practice.reports.reason import reason_for
from stock.models import Item
from stock.reports.reorder import Shortage
from tests.factories.practice import DAY, HorseFactory, ProfileFactory, VisitFactory, WorkFactory
from tests.factories.stock import ItemFactory, OrderFactory, OrderLineFactory, receipt
from tests.practice.test_expected_use import WEEK, done

pytestmark = pytest.mark.django_db
D = Decimal
SHORT = "−1 on hand, 20 on order, expected Mon, Oct 19: may run short until then"


@pytest.fixture(autouse=True)
def fixed_day(settings):
    settings.TODAY = DAY
    ProfileFactory(lead_time_days=7, review_period_days=7)


def on_order(item: Item, quantity: int = 20, ordered: int = -2, expected: int | None = None):
    """An order placed so many days after the day asked, expected on another; None: by the lead time."""
    day = None if expected is None else DAY + timedelta(expected)
    order = OrderFactory(ordered_on=DAY + timedelta(ordered), expected_on=day)
    return OrderLineFactory(order=order, item=item, quantity=D(quantity), pack_size=D(1))


def below_zero():
    """A shoe of which the book has −1, used by one horse long ago."""
    shoe = ItemFactory(name="Plain front, No 2")
    done(HorseFactory(status="sold"), DAY - 40 * WEEK, (shoe, 1))
    return shoe


def only_row():
    [row] = plan_on(DAY).suggestions
    return row


def planned_for(shoe: Item, *days: int):
    """A horse that takes four shoes for each of these days, certain."""
    for day in days:
        horse = HorseFactory()
        done(horse, DAY - 6 * WEEK, (shoe, 4))
        WorkFactory(visit=VisitFactory(date=DAY + timedelta(day), place=horse.place), horse=horse)


def test_what_is_short_until_its_delivery_says_so_with_nothing_to_order():
    on_order(below_zero())

    row, plan = only_row(), plan_on(DAY)

    assert (row.packs, row.first_short_on) == (0, None)
    assert row.shortage == Shortage(DAY, DAY + timedelta(5))
    assert row.in_words("en-US") == SHORT
    assert (plan.to_order, plan.waiting, plan.lasting) == ([], [row], [])
    assert plan.answer == "Nothing to order. 1 item may run short until a delivery."


@pytest.mark.parametrize("address", ["home", "stock:truck", "practice:plan", "practice:item-why"])
def test_every_page_of_what_is_low_says_it(browser, address):
    shoe = below_zero()
    on_order(shoe)

    page = browser.get(reverse(address, args=[shoe.pk] if address.endswith("why") else []))

    assert SHORT in " ".join(page.content.decode().split())


def test_the_command_says_it_and_its_document_has_the_keys_of_the_contract(capsys):
    on_order(below_zero())

    call_command("reorder")
    told = capsys.readouterr().out
    call_command("reorder", "--json")
    [row] = json.loads(capsys.readouterr().out)["items"]

    assert f"Plain front, No 2: {SHORT}" in told
    assert (row["on_hand"], row["on_order"], row["packs"], row["first_short_on"]) == ("-1", "20", 0, None)
    assert list(row) == [
        "item",
        "on_hand",
        "on_order",
        "lead_time_days",
        "review_period_days",
        "expected_use",
        "order_point",
        "service_level",
        "chance_of_running_out",
        "packs",
        "quantity",
        "first_short_on",
    ]


def test_the_first_short_day_is_before_the_delivery_that_makes_up_for_it():
    shoe = ItemFactory(service_level=D("0.5"))
    planned_for(shoe, 2, 4)
    receipt(shoe, "12")  # eight went at the horses' last calls: four are left
    on_order(shoe, expected=6)

    row = only_row()

    assert (row.on_hand, row.packs) == (4, 0)
    assert row.shortage == Shortage(DAY + timedelta(4), DAY + timedelta(6))


@pytest.mark.parametrize(("expected", "is_short"), [(4, False), (5, True)])
def test_a_delivery_on_the_day_of_the_use_is_in_time(expected, is_short):
    shoe = ItemFactory(service_level=D("0.5"))
    planned_for(shoe, 4)
    receipt(shoe, "4")
    on_order(shoe, expected=expected)

    assert bool(only_row().shortage) is is_short


def test_a_first_delivery_that_is_too_small_does_not_end_it():
    shoe = below_zero()
    for quantity, expected in ((1, 3), (5, 8), (9, 11)):
        on_order(shoe, quantity, expected=expected)
    planned_for(shoe, 2)

    row = only_row()

    # −5 before the horse comes, −9 after: 1 on the third day is not enough, nor 6; 15 are.
    assert (row.on_hand, row.shortage) == (-5, Shortage(DAY, DAY + timedelta(11)))
    assert row.in_words("en-US").endswith("15 on order, expected Sun, Oct 25: may run short until then")


def test_of_several_deliveries_the_one_that_ends_it_is_told():
    shoe = below_zero()
    on_order(shoe, 12, expected=3)
    on_order(shoe, 8, expected=8)

    assert only_row().in_words("en-US") == (
        "−1 on hand, 20 on order, 12 expected Sat, Oct 17: may run short until then"
    )


def test_a_late_delivery_is_told_as_late_and_counted_on_from_tomorrow():
    shoe = below_zero()
    on_order(shoe, ordered=-10, expected=-3)

    assert only_row().in_words("en-US") == (
        "−1 on hand, 20 on order, was expected Sun, Oct 11: may run short until it comes"
    )
    assert [day.expected for day in reason_for(shoe, DAY).shelf[:2]] == pytest.approx([-1, 19], abs=0.1)


def test_what_lasts_until_its_delivery_is_not_short():
    shoe = ItemFactory()
    receipt(shoe, "3")
    on_order(shoe)

    row = only_row()

    assert row.shortage is None
    assert row.in_words("en-US") == "3 on hand, 20 on order, expected Mon, Oct 19"
    assert plan_on(DAY).lasting == [row]


def test_the_chart_begins_with_what_is_on_hand_and_rises_on_the_day_of_the_delivery():
    shoe = ItemFactory(service_level=D("0.5"))
    receipt(shoe, "6")
    on_order(shoe, 20, expected=3)

    reason = reason_for(shoe, DAY)

    assert [day.expected for day in reason.shelf[:5]] == [6, 6, 6, 26, 26]
    drawing = reason.chart.drawing
    low, high = (drawing.frame.y(value) for value in (6, 26))
    assert high < low
    assert f"{drawing.x[3]} {low}L{drawing.x[3]} {high}" in drawing.line


def test_the_chart_marks_where_it_may_run_short_before_the_delivery():
    shoe = below_zero()
    on_order(shoe)

    reason = reason_for(shoe, DAY)

    [short] = [mark for mark in reason.chart.marks if mark.look == "short"]
    assert short.x == reason.chart.drawing.x[0]
    assert "until the delivery you are less than 95" in reason.chart.note
    assert reason.answer == "Nothing more to order, but you may run short until the delivery."


def test_the_soonest_short_stand_first_at_home_and_on_the_truck(browser):
    later = ItemFactory(name="Later", service_level=D("0.5"))
    planned_for(later, 5)
    receipt(later, "4")
    shoe = below_zero()
    on_order(shoe)

    home = browser.get(reverse("home")).context["home"]
    truck = browser.get(reverse("stock:truck")).context["truck"]

    assert [row.name for row in home.low] == ["Plain front, No 2", "Later"]
    assert [row.item.name for row in truck.first_low] == ["Plain front, No 2", "Later"]


def test_the_truck_says_as_many_things_to_count_as_the_count_page(browser):
    below_zero()
    receipt(ItemFactory(name="Never counted"), "3")

    truck = browser.get(reverse("stock:truck")).context["truck"]
    counting = browser.get(reverse("stock:count-list")).context

    assert counting["heading"] == "2 items to count."
    assert truck.heading == "1 item to order, 2 to count."
