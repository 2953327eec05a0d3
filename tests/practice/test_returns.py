"""What comes back from a visit; and which vehicle carries which stock."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from practice.actions.materials import UnreturnedMaterial, return_materials, still_out
from practice.actions.visits import complete_visit
from practice.lib.errors import RuleBroken
from practice.models import MaterialReturn
from stock.actions.movements import undo_fact
from stock.models import Balance, Movement, Shelf
from tests.factories.practice import DAY, MaterialUseFactory, ProfileFactory, VehicleFactory, VisitFactory
from tests.factories.stock import ItemFactory, LocationFactory, receipt

pytestmark = pytest.mark.django_db
D = Decimal
NEXT = DAY + timedelta(1)


@pytest.fixture
def use():
    """Four shoes at 3 used on a horse at a done visit."""
    use = MaterialUseFactory(quantity=D(4))
    receipt(use.item, "10", "3")
    complete_visit(use.visit)
    return use


def test_what_came_back_is_on_the_shelf_again_at_what_it_cost(use):
    [back] = return_materials(use.visit, [(use.horse, use.item, D(1))], on=NEXT)

    assert (back.horse, back.movement.kind, back.movement.date) == (use.horse, "visit return", NEXT)
    assert Shelf.objects.values_list("on_hand", "value").get() == (7, 21)
    assert still_out(use.visit) == [UnreturnedMaterial(use.horse, use.item, D(3))]


def test_a_return_taken_back_is_out_again(use):
    [back] = return_materials(use.visit, [(use.horse, use.item, D(4))], on=NEXT)
    assert still_out(use.visit) == []

    undo_fact(back.movement)

    assert still_out(use.visit) == [UnreturnedMaterial(use.horse, use.item, D(4))]


@pytest.mark.parametrize(("quantity", "on"), [("5", NEXT), ("1", DAY), (None, NEXT)])
def test_more_than_was_used_nothing_or_a_day_too_early_is_refused(use, quantity, on):
    came_back = [(use.horse, use.item, D(quantity))] if quantity else []

    with pytest.raises(RuleBroken):
        return_materials(use.visit, came_back, on=on)

    assert (MaterialReturn.objects.count(), Movement.objects.count()) == (0, 2)


def test_the_visits_page_leads_to_what_came_back(browser, use, settings):
    settings.TODAY = NEXT
    ProfileFactory()
    address = reverse("practice:visit-return", args=[use.visit.pk])
    field = f"back_{use.horse.pk}_{use.item.pk}"
    typed = {"date": NEXT.isoformat()}

    visit_page = browser.get(reverse("practice:visit-detail", args=[use.visit.pk])).content.decode()
    too_much = browser.post(address, typed | {field: "9"})
    browser.post(address, typed | {field: "2", "note": "wrong size"})

    assert address in visit_page
    assert too_much.context["form"].errors == {field: ["Type a number up to 4, such as 4."]}
    assert list(Movement.objects.filter(kind="visit return").values_list("quantity", "note")) == [
        (2, "wrong size")
    ]


def test_the_ledger_leads_to_the_horse_at_its_visit(browser, use):
    page = browser.get(reverse("stock:item-detail", args=[use.item.pk])).content.decode()

    address = reverse("practice:visit-horse", args=[use.visit.pk, use.horse.pk])
    assert f'<a href="{address}">{use.horse}, {use.visit.place}</a>' in page


def test_a_vehicle_carries_the_stock_of_one_place(browser):
    shop, truck = LocationFactory.create_batch(2)
    vehicle, other = VehicleFactory.create_batch(2)

    for each in (vehicle, other):
        answer = browser.post(
            reverse("practice:vehicle-change", args=[each.pk]), {"name": each.name, "location": truck.pk}
        )

    vehicle.refresh_from_db()
    assert vehicle.location == truck
    assert answer.context["form"].errors == {
        "location": ["Another vehicle already carries that stock. Choose another one."]
    }
    item = ItemFactory()
    receipt(item, "10")
    complete_visit(MaterialUseFactory(item=item, visit=VisitFactory(vehicle=vehicle)).visit)
    assert dict(Balance.objects.values_list("location", "quantity")) == {shop.pk: 10, truck.pk: -1}
