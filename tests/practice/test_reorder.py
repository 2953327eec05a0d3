"""`manage.py reorder` and `manage.py load_list`, as other programs call them."""

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command

from practice.models import Vehicle
from stock.actions.movements import receive_item, transfer_item
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory, LocationFactory, SupplierFactory, receipt
from tests.practice.test_expected_use import WEEK, done

pytestmark = pytest.mark.django_db


def document(capsys, *command):
    call_command(*command, "--json")
    return json.loads(capsys.readouterr().out)


def test_the_document_of_reorder_is_that_of_the_contract(capsys):
    ProfileFactory(lead_time_days=5, review_period_days=7)
    supplier = SupplierFactory(lead_time_days=3)
    shoe = ItemFactory(ref="shoe-1", pack_size=Decimal(4), service_level=Decimal("0.9"))
    plenty = ItemFactory(ref="plenty", supplier=supplier)
    ItemFactory(ref="gone", archived=True)
    receipt(plenty, "20")
    horse = HorseFactory()
    done(horse, DAY - 6 * WEEK, (shoe, 2))

    found = document(capsys, "reorder", "--on", str(DAY))

    # Due today and not done: shifts 1 ... 14 are left, 12 days see all but two of fourteen. Of the shoe,
    # 0.5 events in 6 + 4 weeks take 2 each. In 19 days there is none with 87 %: 4 cover it, 6 are missing.
    [first, second] = found["items"]
    assert found["on"] == str(DAY)
    assert {**first, "expected_use": None, "chance_of_running_out": None} == {
        "item": "shoe-1",
        "on_hand": "-2",
        "on_order": "0",
        "lead_time_days": 5,
        "review_period_days": 7,
        "expected_use": None,
        "order_point": "2",
        "service_level": "0.9",
        "chance_of_running_out": None,
        "packs": 2,
        "quantity": "8",
        "first_short_on": str(DAY + timedelta(1)),
    }
    assert float(first["expected_use"]) == pytest.approx(2 * 12 / 14 + 2 * 0.05 * 12 / 7, abs=1e-6)
    assert first["chance_of_running_out"] == "1.000000"
    assert second == {
        "item": "plenty",
        "on_hand": "20",
        "on_order": "0",
        "lead_time_days": 3,
        "review_period_days": 7,
        "expected_use": "0.000000",
        "order_point": "0",
        "service_level": "0.95",
        "chance_of_running_out": "0.000000",
        "packs": 0,
        "quantity": "0",
        "first_short_on": None,
    }


def test_the_first_short_day_is_when_the_stock_no_longer_covers_what_was_asked(capsys):
    ProfileFactory(lead_time_days=7, review_period_days=7)
    shoe = ItemFactory(service_level=Decimal("0.5"))
    horses = [HorseFactory(), HorseFactory()]
    for horse in horses:
        done(horse, DAY - 6 * WEEK, (shoe, 4))
    for horse, days in zip(horses, (2, 9), strict=True):
        WorkFactory(visit=VisitFactory(date=DAY + timedelta(days), place=horse.place), horse=horse)
    receive_item(shoe, Decimal(12), Decimal(1), on=DAY)

    [row] = document(capsys, "reorder", "--on", str(DAY))["items"]

    assert (row["on_hand"], row["order_point"], row["first_short_on"]) == (
        "4",
        "8",
        str(DAY + timedelta(9)),
    )


def test_the_shelf_is_that_of_the_end_of_the_day(capsys):
    ProfileFactory()
    shoe = ItemFactory()
    receipt(shoe, "6", on=DAY)
    receipt(shoe, "6", on=DAY + timedelta(1))

    [row] = document(capsys, "reorder", "--on", str(DAY))["items"]

    assert row["on_hand"] == "6"


def test_the_document_of_load_list_is_that_of_the_contract(capsys):
    truck, shop = LocationFactory(), LocationFactory()
    vehicle = Vehicle.objects.create(ref="blue", name="Blue truck", location=truck)
    shoe, nail = ItemFactory(ref="shoe"), ItemFactory(ref="nail")
    horse = HorseFactory()
    for weeks, quantity in ((18, 4), (12, 2), (6, 4)):
        done(horse, DAY - weeks * WEEK, (shoe, quantity), (nail, 24))
    receipt(shoe, "13", on=DAY - 30 * WEEK)  # three are left
    transfer_item(shoe, Decimal(1), on=DAY - WEEK, location=truck, to_location=shop)
    receipt(nail, "172", on=DAY - 30 * WEEK)
    VisitFactory(date=DAY, place=horse.place, vehicle=vehicle)

    found = document(capsys, "load_list", "--date", str(DAY))

    assert found == {
        "date": str(DAY),
        "vehicles": [
            {
                "vehicle": "blue",
                "items": [
                    {
                        "item": "shoe",
                        "expected": "3.333333",
                        "spare": "0.666667",
                        "on_truck": "2",
                        "take_from_shop": "1",
                        "buy": "1",
                    },
                    {
                        "item": "nail",
                        "expected": "24.000000",
                        "spare": "0.000000",
                        "on_truck": "100",
                        "take_from_shop": "0",
                        "buy": "0",
                    },
                ],
            }
        ],
    }


def loaded_for(capsys, day):
    found = document(capsys, "load_list", "--date", str(day))
    return [(row["item"], row["expected"]) for load in found["vehicles"] for row in load["items"]]


def test_a_load_list_judges_today_who_is_overdue_by_more_than_a_cycle(capsys, settings):
    settings.TODAY = DAY
    shoe, horse = ItemFactory(ref="shoe"), HorseFactory(cycle_weeks=6)
    done(horse, DAY - timedelta(80), (shoe, 4))  # overdue by 38 days today, by 43 on the day
    VisitFactory(date=DAY + timedelta(5), place=horse.place)

    assert loaded_for(capsys, DAY + timedelta(5)) == [("shoe", "4.000000")]


def test_a_load_list_judges_a_day_that_is_past_on_that_day(capsys, settings):
    settings.TODAY = DAY + timedelta(20)
    shoe, horse = ItemFactory(ref="shoe"), HorseFactory(cycle_weeks=6)
    done(horse, DAY - timedelta(80), (shoe, 4))
    VisitFactory(date=DAY, place=horse.place)

    assert loaded_for(capsys, DAY) == [("shoe", "4.000000")]


def test_a_load_list_leaves_out_a_horse_that_another_day_is_planned_for(capsys, settings):
    settings.TODAY = DAY
    shoe, horse = ItemFactory(ref="shoe"), HorseFactory(cycle_weeks=6)
    done(horse, DAY - 6 * WEEK, (shoe, 4))
    VisitFactory(date=DAY + timedelta(1), place=horse.place)
    WorkFactory(visit=VisitFactory(date=DAY + timedelta(3), place=horse.place), horse=horse)

    assert loaded_for(capsys, DAY + timedelta(1)) == []
    assert loaded_for(capsys, DAY + timedelta(3)) == [("shoe", "4.000000")]


def test_two_trucks_do_not_take_the_same_shoes_from_the_shop(capsys):
    shop = LocationFactory()
    vehicles = [
        Vehicle.objects.create(ref=f"v{n}", name=f"Truck {n}", location=LocationFactory()) for n in range(2)
    ]
    shoe = ItemFactory()
    receive_item(shoe, Decimal(9), Decimal(1), on=DAY - 10 * WEEK, location=shop)
    for vehicle in vehicles:
        horse = HorseFactory()
        visit = VisitFactory(date=DAY - 6 * WEEK, place=horse.place, vehicle=vehicle)
        WorkFactory(visit=visit, horse=horse)
        MaterialUseFactory(visit=visit, horse=horse, item=shoe, quantity=Decimal(6))
        visit.status = "done"
        visit.save()
        VisitFactory(date=DAY, place=horse.place, vehicle=vehicle)

    found = document(capsys, "load_list", "--date", str(DAY))

    rows = [row for load in found["vehicles"] for row in load["items"]]
    assert [(row["on_truck"], row["take_from_shop"], row["buy"]) for row in rows] == [
        ("0", "6", "0"),
        ("0", "3", "3"),
    ]
