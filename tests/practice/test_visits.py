"""Visits: planned, done, reopened, cancelled; what they take from the shelf and give back."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from practice.actions.horses import set_owners
from practice.actions.visits import (
    cancel_visit,
    complete_visit,
    move_visit,
    plan_visit,
    reopen_visit,
    reorder_visit,
)
from practice.actions.work import MaterialRow, WorkRow, save_work
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import MaterialUse, Owner, Visit, Work
from stock.models import Movement, Shelf
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory, LocationFactory, receipt

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def shoe():
    item = ItemFactory(name="Plain front, No 2")
    receipt(item, "10", "3")
    return item


def on_hand(item):
    return Shelf.objects.get(item=item).on_hand


def test_completing_a_visit_takes_its_shoes_out_of_stock(shoe):
    visit = MaterialUseFactory(item=shoe, quantity=D(4)).visit

    complete_visit(visit)

    assert (Visit.objects.get().status, on_hand(shoe)) == ("done", 6)


def test_a_use_may_take_the_book_below_zero(shoe):
    complete_visit(MaterialUseFactory(item=shoe, quantity=D(12)).visit)

    assert on_hand(shoe) == -2


def test_a_use_leaves_the_truck_of_the_visits_vehicle(shoe):
    LocationFactory()
    truck = LocationFactory()
    visit = VisitFactory(vehicle=VehicleFactory(location=truck))
    MaterialUseFactory(visit=visit, item=shoe, quantity=D(4))

    complete_visit(visit)

    assert shoe.balances.get(location=truck).quantity == -4


def test_reopening_a_visit_reverses_what_it_took_by_new_facts(shoe):
    visit = MaterialUseFactory(item=shoe, quantity=D(4)).visit
    complete_visit(visit)

    reopen_visit(visit)

    assert (Visit.objects.get().status, on_hand(shoe)) == ("planned", 10)
    kinds = Movement.objects.order_by("pk").values_list("kind", "quantity", "date")
    assert list(kinds)[1:] == [("use", 4, DAY), ("reversal", 4, DAY)]


def test_cancelling_a_done_visit_gives_its_shoes_back(shoe):
    visit = MaterialUseFactory(item=shoe, quantity=D(4)).visit
    complete_visit(visit)

    cancel_visit(visit)

    assert (Visit.objects.get().status, on_hand(shoe)) == ("cancelled", 10)


def test_planning_the_same_visit_twice_gives_one_row():
    key, place = uuid.uuid4(), PlaceFactory()

    first, second = (plan_visit(place, DAY, uuid=key) for _ in range(2))

    assert first == second and Visit.objects.count() == 1


def test_visits_stand_in_driving_order_and_can_change_places():
    first, second, third = (plan_visit(PlaceFactory(), DAY) for _ in range(3))

    reorder_visit(third, -1)

    assert list(Visit.objects.in_driving_order()) == [first, third, second]


def test_a_planned_visit_moves_to_another_day_and_vehicle():
    visit, truck = plan_visit(PlaceFactory(), DAY), VehicleFactory()

    move_visit(visit, DAY + timedelta(1), truck)

    assert Visit.objects.values_list("date", "vehicle").get() == (DAY + timedelta(1), truck.pk)


@pytest.mark.parametrize(
    "action",
    [complete_visit, reopen_visit, cancel_visit, lambda visit: move_visit(visit, DAY + timedelta(9), None)],
)
def test_a_day_closed_for_good_stands_as_it_is(action):
    visit = VisitFactory()
    ProfileFactory(closed_through=DAY)

    with pytest.raises(RuleBroken):
        action(visit)

    assert Visit.objects.values_list("status", "date").get() == ("planned", DAY)


def test_nothing_new_is_planned_on_a_closed_day():
    ProfileFactory(closed_through=DAY)

    with pytest.raises(RuleBroken):
        plan_visit(PlaceFactory(), DAY)

    assert Visit.objects.count() == 0


def test_keeping_work_twice_changes_nothing(shoe):
    visit, horse, service = VisitFactory(status="done"), HorseFactory(), ServiceFactory()
    rows = [WorkRow(service)], [MaterialRow(shoe, D(1), "LF"), MaterialRow(shoe, D(1), "RF")]

    for _ in range(2):
        save_work(visit, horse, *rows)

    assert (Work.objects.count(), MaterialUse.objects.count(), on_hand(shoe)) == (1, 2, 8)
    assert Movement.objects.count() == 3


def test_correcting_a_done_visit_corrects_the_shelf_by_new_facts(shoe):
    visit, horse, service = VisitFactory(status="done"), HorseFactory(), ServiceFactory()
    save_work(visit, horse, [WorkRow(service)], [MaterialRow(shoe, D(2))])

    save_work(visit, horse, [WorkRow(service)], [MaterialRow(shoe, D(3))])

    kinds = list(Movement.objects.order_by("pk").values_list("kind", "quantity"))
    assert kinds == [("receipt", 10), ("use", 2), ("reversal", 2), ("use", 3)]
    assert on_hand(shoe) == 7


def test_keeping_one_horse_leaves_the_others_alone(shoe):
    work = WorkFactory(visit=VisitFactory())

    save_work(work.visit, HorseFactory(), [WorkRow(work.service)], [])

    assert Work.objects.count() == 2


def test_on_an_invoiced_visit_only_what_is_not_billed_can_change(shoe):
    work = WorkFactory(visit=VisitFactory(status="done", locked=True))
    kept = [WorkRow(work.service, price=work.price)]
    pad = ItemFactory(kind="pad", sale_price=D(14))

    save_work(work.visit, work.horse, kept, [MaterialRow(shoe, D(2))])
    for rows in (([], []), (kept, [MaterialRow(pad, D(1))])):
        with pytest.raises(RuleBroken):
            save_work(work.visit, work.horse, *rows)

    assert (Work.objects.count(), MaterialUse.objects.get().item, on_hand(shoe)) == (1, shoe, 8)


def test_a_fact_entered_behind_others_works_the_later_ones_out_anew(shoe):
    complete_visit(MaterialUseFactory(item=shoe, quantity=D(4)).visit)

    receipt(shoe, "10", "5", on=DAY - timedelta(1))

    # Ten at 3 and ten at 5 before the use: four at 4.
    use = shoe.ledger.get(kind="use")
    assert (use.cost, use.on_hand, use.value) == (-16, 16, 64)


def test_a_late_correction_of_closed_years_takes_the_first_open_day_and_its_first_cost(shoe):
    visit = MaterialUseFactory(item=shoe, quantity=D(4)).visit
    complete_visit(visit)
    receipt(shoe, "10", "7", on=DAY + timedelta(1))
    ProfileFactory(closed_through=DAY)

    from practice.actions.materials import give_back_materials

    give_back_materials(visit)

    reversal = Movement.objects.get(kind="reversal")
    assert (reversal.date, str(DAY) in reversal.note) == (DAY + timedelta(1), True)
    assert shoe.ledger.order_by("position").last().cost == 12


def test_new_owners_close_the_shares_before_them():
    horse, (ann, ben) = HorseFactory(), ClientFactory.create_batch(2)
    set_owners(horse, [(ann, D(100))], None)

    set_owners(horse, [(ann, D(40)), (ben, D(60))], DAY)

    rows = Owner.objects.order_by("pk").values_list("client", "share", "valid_from", "valid_to")
    assert list(rows) == [
        (ann.pk, 100, None, DAY - timedelta(1)),
        (ann.pk, 40, DAY, None),
        (ben.pk, 60, DAY, None),
    ]


def test_shares_that_do_not_make_a_hundred_are_refused():
    horse = HorseFactory()

    with pytest.raises(RuleBroken):
        set_owners(horse, [(ClientFactory(), D(90))], None)

    assert Owner.objects.count() == 0 and Profile.objects.count() == 0
