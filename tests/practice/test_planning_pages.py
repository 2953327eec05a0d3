"""The plan, its reasons and the load list as pages."""

import io
import itertools
import math
from collections import defaultdict
from datetime import timedelta
from decimal import Decimal
from html.parser import HTMLParser

import pytest
from django.urls import reverse
from pypdf import PdfReader

from practice.models import Vehicle
from practice.reports.planner import plan_on
from stock.actions.movements import receive_item
from stock.models import Balance, Movement, Order
from tests.conftest import DESK, PHONE
from tests.factories.practice import (
    DAY,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
)
from tests.factories.stock import ItemFactory, LocationFactory, SupplierFactory, receipt
from tests.practice.test_expected_use import WEEK, done

pytestmark = pytest.mark.django_db


class Tables(HTMLParser):
    """The tables of a page: each row as its attributes and the values of its <data>."""

    def __init__(self, page: str):
        super().__init__()
        self.groups, self.rows, self.named, self._row = [], [], {}, None
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "table" and "data-group" in attrs:
            self.groups.append([])
        if tag == "tr":
            self._row = (attrs, [])
            self.rows.append(self._row)
            if self.groups and "data-times" in attrs or "data-horse" in attrs:
                self.groups[-1].append(self._row)
        if tag == "data":
            if "id" in attrs:
                self.named[attrs["id"]] = attrs["value"]
            elif self._row:
                self._row[1].append(attrs["value"])


def order_point_from(page: str, level: float) -> int:
    """Work the order point out again, slowly and plainly, from the rows that the page shows."""
    shown = Tables(page)
    total = {0: 1.0}
    for rows in shown.groups:
        takes = [[int(v) for v in values] for attrs, values in rows if "data-horse" in attrs]
        found = defaultdict(float)
        for attrs, [chance] in [row for row in rows if "data-times" in row[0]]:
            times = [int(n) for n in attrs["data-times"].split()]
            draws = [amounts for amounts, n in zip(takes, times, strict=True) for _ in range(n)]
            ways = list(itertools.product(*draws))
            for way in ways:
                found[sum(way)] += float(chance) / len(ways)
        total = added(total, found)
    events = [(int(amount), int(seen)) for _, (amount, seen) in of_events(shown.rows)]
    mean = float(shown.named["per-week"]) * int(shown.named["window"]) / 7
    seen = sum(times for _, times in events)
    one, sums, several = {a: n / seen for a, n in events}, {0: 1.0}, defaultdict(float)
    for count in range(30):
        poisson = math.exp(-mean) * mean**count / math.factorial(count)
        for amount, chance in sums.items():
            several[amount] += poisson * chance
        sums = added(sums, one)
    total, covered = added(total, several), 0.0
    for amount in sorted(total):
        covered += total[amount]
        if covered >= level:
            return amount
    raise AssertionError("the chances do not add up")


def of_events(rows):
    return [row for row in rows if "data-event" in row[0]]


def added(one, other):
    found = defaultdict(float)
    for (a, p), (b, q) in itertools.product(one.items(), other.items()):
        found[a + b] += p * q
    return found


@pytest.fixture
def practice(settings):
    """Seven horses at three places, one stop planned, some shoes lost: half a dozen shoes are left."""
    settings.TODAY = DAY
    ProfileFactory(lead_time_days=9, review_period_days=12)
    shoe = ItemFactory(
        name="Plain front, No 2", pack_size=Decimal(4), supplier=SupplierFactory(name="Anvil Co")
    )
    barns = PlaceFactory.create_batch(3)
    horses = [HorseFactory(place=barns[n // 3], cycle_weeks=5 + n % 2) for n in range(7)]
    for n, horse in enumerate(horses):
        for times, quantity in enumerate((2, 4, 0)):
            on = DAY - timedelta(weeks=horse.cycle_weeks * (times + 1)) + timedelta(n)
            done(horse, on, *([(shoe, quantity)] if quantity else []))
    for days, quantity in ((12, 1), (40, 1), (80, 2)):
        done(horses[0], DAY - timedelta(days), (shoe, quantity), resets=False)
    VisitFactory(place=barns[2], date=DAY + timedelta(4))
    receipt(shoe, "50", on=DAY - 40 * WEEK)
    return shoe


def test_the_reason_is_whole(browser, practice):
    page = browser.get(reverse("practice:item-why", args=[practice.pk])).content.decode()

    [row] = plan_on(DAY).suggestions
    assert len(Tables(page).groups) == 3
    assert order_point_from(page, 0.95) == row.order_point == int(Tables(page).named["order-point"])
    assert row.order_point > 8


def test_one_tap_makes_orders_and_a_second_none(browser, practice):
    plan = plan_on(DAY)
    packs = plan.to_order[0].packs

    for _ in range(2):
        browser.post(reverse("practice:plan"), {"item": [practice.pk]})

    [order] = Order.objects.all()
    assert [(line.item, line.packs) for line in order.lines.all()] == [(practice, packs)]
    assert plan_on(DAY).to_order == []


def test_a_suggestion_is_ordered_from_its_reason(browser, practice):
    answer = browser.post(reverse("practice:item-why", args=[practice.pk]), follow=True)

    assert answer.redirect_chain == [(Order.objects.get().get_absolute_url(), 302)]


def test_nothing_ticked_orders_nothing(browser, practice):
    answer = browser.post(reverse("practice:plan"), {}, follow=True)

    assert Order.objects.count() == 0
    assert [str(m) for m in answer.context["messages"]] == [
        "Nothing was ordered: check at least one item that is not on order yet."
    ]


@pytest.fixture
def loaded(settings):
    """A stop tomorrow that needs four shoes: one is on the truck, two in the shop."""
    settings.TODAY = DAY
    ProfileFactory()
    truck, shop = LocationFactory(name="Truck"), LocationFactory(name="Shop")
    vehicle = Vehicle.objects.create(name="Blue truck", location=truck)
    shoe, horse = ItemFactory(name="Plain front, No 2"), HorseFactory()
    done(horse, DAY - 6 * WEEK, (shoe, 4))
    receipt(shoe, "5", on=DAY - 10 * WEEK)
    receive_item(shoe, Decimal(2), Decimal(1), on=DAY - WEEK, location=shop)
    VisitFactory(place=horse.place, date=DAY + timedelta(1), vehicle=vehicle)
    return shoe, vehicle


def test_what_is_loaded_moves_from_the_shop_once(browser, loaded):
    shoe, vehicle = loaded
    address = reverse("practice:load-list", args=[(DAY + timedelta(1)).isoformat()])

    for _ in range(2):
        answer = browser.post(address, {"take": [f"{vehicle.pk}-{shoe.pk}"]}, follow=True)

    at = dict(Balance.objects.values_list("location__name", "quantity"))
    assert at == {"Truck": 3, "Shop": 0}
    assert Movement.objects.filter(kind="transfer").count() == 1
    assert [str(m) for m in answer.context["messages"]] == [
        "Nothing was moved: what you checked is on the truck already."
    ]


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_suggestion_is_followed_to_its_reason_and_ordered(open_page, user, practice, size):
    page = open_page(*size, user=user)

    page.goto("/truck/")
    page.locator("a[href$='/why/']").first.click()
    page.get_by_role("heading", name="Who will need it").wait_for()
    page.get_by_text("How this was worked out").click()
    assert order_point_from(page.content(), 0.95) == plan_on(DAY).suggestions[0].order_point
    page.get_by_role("button", name="Put on an order").click()
    page.get_by_role("heading", name="Still to come: 1 item.").wait_for()

    assert (Order.objects.count(), page.problems) == (1, [])


def test_what_goes_off_first_is_named_on_the_load_list(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    sealant, horse = ItemFactory(kind="sealant", unit="ml"), HorseFactory()
    done(horse, DAY - 6 * WEEK, (sealant, 20))
    for lot, days in (("B2", 90), ("A1", 30)):
        receive_item(
            sealant, Decimal(100), Decimal(1), on=DAY - WEEK, lot=lot, use_by=DAY + timedelta(days=days)
        )
    VisitFactory(place=horse.place, date=DAY)

    [load] = browser.get(reverse("practice:load-list", args=[DAY.isoformat()])).context["page"].loads

    assert [row.lot for row in load.items[0].lots] == ["A1", "B2"]


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_load_list_is_ticked_off_and_printed(open_page, user, loaded, size, tmp_path):
    day = (DAY + timedelta(1)).isoformat()
    page = open_page(*size, user=user)

    page.goto(f"/round/{day}/")
    page.get_by_role("link", name="Load list").click()
    page.get_by_label("Plain front, No 2 is loaded").check()
    page.get_by_role("button", name="Mark as loaded").click()
    page.get_by_text("Saved. It is on the truck.").wait_for()
    printed = page.request.get(f"/load/{day}/pdf/")

    text = " ".join(PdfReader(io.BytesIO(printed.body())).pages[0].extract_text().split())
    assert "Thursday, October 15" in text
    assert "Plain front, No 2 4 3 1" in text  # needed, on the truck, to buy
    assert page.problems == []
