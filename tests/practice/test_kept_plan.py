"""The plan is worked out once, and again as soon as anything that it rests on is another."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from practice.lib.profile import Profile
from practice.models import Horse, LifeEvent, MaterialReturn, MaterialUse, Place, Service, Visit, Work
from practice.project.furnish import STAMPED
from practice.reports import planner
from practice.reports.planner import RESTS_ON, plan_on, work_out_plan
from stock.actions.movements import NewFact, add_facts, undo_fact, waste_item
from stock.actions.purchasing import ReceivedLine, cancel_order_line, receive_order
from stock.models import Item, Movement, Order, OrderLine, Supplier
from tests.factories.practice import DAY, HorseFactory, PlaceFactory, ProfileFactory, VisitFactory
from tests.factories.stock import ItemFactory, OrderFactory, OrderLineFactory, SupplierFactory, receipt
from tests.practice.test_expected_use import WEEK, done

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def practice(settings):
    """A horse that is due, one that nobody has done for long, a shoe on order, a stop that is planned."""
    settings.TODAY = DAY
    ProfileFactory(lead_time_days=9, review_period_days=12)
    shoe = ItemFactory(name="Plain front, No 2", pack_size=D(4), supplier=SupplierFactory(name="Tarn Iron"))
    barn = PlaceFactory(name="Low Barn")
    receipt(shoe, "25", on=DAY - 50 * WEEK)
    for name, weeks in (("Bramble", 5), ("Clover", 14)):
        horse = HorseFactory(name=name, place=barn)
        for rounds in range(3):
            done(horse, DAY - (weeks + 6 * rounds) * WEEK, (shoe, 4))
    waste_item(shoe, D(1), on=DAY - WEEK)
    OrderLineFactory(order=OrderFactory(ordered_on=DAY - WEEK), item=shoe, quantity=D(8), pack_size=D(4))
    VisitFactory(place=barn, date=DAY + WEEK, status="planned")
    return shoe


def said() -> list:
    """Return what is shown of the plan: each item with all its figures, and the horses behind it."""
    plan = plan_on(DAY)
    items = [
        (
            row.item.name,
            str(row.item.supplier),
            row.item.pack_size,
            row.quantity,
            row.on_hand,
            row.deliveries,
            row.window,
            row.demand,
            row.order_point,
            row.shortage,
        )
        for row in plan.suggestions
    ]
    due = [(row.horse.name, str(row.horse.place), row.due) for row in plan.expectation.due.values()]
    asked = [row.horse.name for row in plan.expectation.forgotten]
    return [items, due, asked, plan.expectation.expected.inputs]


def receive_two() -> None:
    receive_order(Order.objects.get(), [ReceivedLine(OrderLine.objects.get(), D(2), D(3))], on=DAY)


def bring_back_one() -> None:
    use = MaterialUse.objects.latest("pk")
    [back] = add_facts([NewFact(use.item, DAY, "visit return", D(1), job=f"{use.visit_id}/{use.horse_id}")])
    MaterialReturn.objects.create(movement=back, visit=use.visit, horse=use.horse)


def plan_one_more() -> None:
    VisitFactory(place=Place.objects.get(), date=DAY + timedelta(2), status="planned")


def undo_the_waste() -> None:
    undo_fact(Movement.objects.get(kind="waste"))


CHANGES = {
    "a horse's cycle": lambda: Horse.objects.filter(name="Bramble").update(cycle_weeks=8),
    "a horse's next call": lambda: Horse.objects.filter(name="Bramble").update(next_call=DAY + 2 * WEEK),
    "a horse that is sold": lambda: Horse.objects.filter(name="Bramble").update(status="sold"),
    "a horse that someone else did": lambda: LifeEvent.objects.create(
        horse=Horse.objects.get(name="Bramble"), kind="done elsewhere", date=DAY
    ),
    "a new horse": lambda: HorseFactory(name="Juno"),
    "a place's name": lambda: Place.objects.update(name="High Barn"),
    "a service that resets no cycle": lambda: Service.objects.filter(
        work=Work.objects.earliest("pk").pk
    ).update(resets_cycle=False),
    "work that is deleted": lambda: Work.objects.latest("pk").delete(),
    "a visit on another day": lambda: Visit.objects.filter(status="done").update(date=DAY - 2 * WEEK),
    "a planned visit": plan_one_more,
    "a planned visit that is canceled": lambda: Visit.objects.filter(status="planned").update(
        status="cancelled"
    ),
    "more material on a horse": lambda: MaterialUse.objects.update(quantity=D(6)),
    "what came back from a visit": bring_back_one,
    "the practice's lead time": lambda: Profile.objects.update(lead_time_days=20),
    "an item's pack": lambda: Item.objects.update(pack_size=D(3)),
    "an item's service level": lambda: Item.objects.update(service_level=D("0.5")),
    "an item that is archived": lambda: Item.objects.update(archived=True),
    "a supplier's lead time": lambda: Supplier.objects.update(lead_time_days=30),
    "a delivery": lambda: receipt(Item.objects.get(), "5", on=DAY),
    "waste": lambda: waste_item(Item.objects.get(), D(2), on=DAY),
    "waste that is undone": undo_the_waste,
    "an order": lambda: OrderLineFactory(
        order=OrderFactory(ordered_on=DAY), item=Item.objects.get(), quantity=D(4), pack_size=D(4)
    ),
    "the day that an order is promised": lambda: Order.objects.update(expected_on=DAY + timedelta(3)),
    "a canceled part of an order": lambda: cancel_order_line(OrderLine.objects.get(), D(4)),
    "what came of an order": receive_two,
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_a_change_is_in_the_plan_at_once(change):
    before = said()
    change()

    after, anew = said(), work_out_plan(DAY)

    assert after != before
    assert plan_on(DAY) == anew


def test_a_change_behind_the_programs_back_is_in_it_too():
    before = said()

    with connection.cursor() as cursor:
        cursor.execute("UPDATE practice_horse SET cycle_weeks = 9 WHERE name = 'Bramble'")

    assert said() != before


def test_what_is_taken_back_again_is_in_it_no_more():
    before = said()

    with transaction.atomic():
        Item.objects.update(pack_size=D(3))
        within = said()
        transaction.set_rollback(True)

    assert (said() == before, within == before) == (True, False)


def test_another_day_has_a_plan_of_its_own():
    later = DAY + 3 * WEEK

    plans = [plan_on(DAY), plan_on(later), plan_on(DAY)]

    assert [plan.on for plan in plans] == [DAY, later, DAY]
    assert plans[1] == work_out_plan(later)


def test_it_is_worked_out_once_for_all_pages(browser, practice, monkeypatch):
    asked = []
    expected_use = planner.expected_use
    monkeypatch.setattr(planner, "expected_use", lambda on: asked.append(on) or expected_use(on))
    Item.objects.update(pack_size=D(5))

    for address in (reverse("home"), reverse("stock:truck"), reverse("practice:plan"), reverse("home")):
        assert browser.get(address).status_code == 200
    assert browser.get(reverse("practice:item-why", args=[practice.pk])).status_code == 200

    assert asked == [DAY]


def test_every_table_that_it_reads_has_its_triggers_and_no_other_has():
    """A query of another table that comes in one day fails here, until that table is named."""
    bring_back_one()
    receive_two()

    with CaptureQueriesContext(connection) as asked:
        plan = work_out_plan(DAY)
        shown = [(str(row.item), str(row.item.supplier)) for row in plan.suggestions]
        shown += [str(row.horse.place) for row in plan.expectation.due.values()]
    read = {table for query in asked for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', query["sql"])}

    assert read == {model._meta.db_table for model in RESTS_ON} <= set(STAMPED)
    assert len(shown) == 3
