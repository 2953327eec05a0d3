"""Facts of the shelf, one action each."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.movements import (
    NewFact,
    add_facts,
    count_item,
    return_to_supplier,
    reverse_movements,
    transfer_item,
    waste_item,
    withdraw_item,
)
from stock.models import Balance, Movement, Valuation
from tests.factories.stock import ItemFactory, LocationFactory, receipt

pytestmark = pytest.mark.django_db
DAY = date(2026, 1, 5)
D = Decimal


def ledger_of(item):
    rows = Valuation.objects.filter(item=item).order_by("position")
    return list(rows.values_list("kind", "quantity", "cost", "on_hand"))


@pytest.mark.parametrize(
    ("action", "kind"),
    [(waste_item, "waste"), (withdraw_item, "withdrawal"), (return_to_supplier, "return")],
)
def test_what_leaves_the_shelf_otherwise_costs_what_a_use_would(action, kind):
    item = ItemFactory()
    receipt(item, "10", "3")

    action(item, D(2), on=DAY, note="why")

    assert ledger_of(item)[1:] == [(kind, -2, -6, 8)]
    assert Movement.objects.get(kind__in=["waste", "withdrawal", "supplier return"]).note == "why"


def test_a_transfer_moves_units_from_the_first_location_to_another():
    item, (shop, truck) = ItemFactory(), LocationFactory.create_batch(2)
    receipt(item, "10", "3")

    transfer_item(item, D(4), on=DAY, to_location=truck)

    assert ledger_of(item)[1:] == [("transfer", -4, 0, 6), ("transfer", 4, 0, 10)]
    assert dict(Balance.objects.values_list("location", "quantity")) == {shop.pk: 6, truck.pk: 4}


@pytest.mark.parametrize("named", [True, False])
def test_a_transfer_to_where_the_item_is_is_refused(named):
    item, shop = ItemFactory(), LocationFactory()

    with pytest.raises(RuleBroken) as refused:
        transfer_item(item, D(4), on=DAY, location=shop if named else None, to_location=shop)

    assert (refused.value.code, Movement.objects.count()) == ("same_location", 0)


@pytest.mark.parametrize(
    ("kind", "quantity", "code"),
    [
        ("waste", "0", "quantity_not_positive"),
        ("use", "-1", "quantity_not_positive"),
        ("count", "-1", "count_below_zero"),
    ],
)
def test_a_quantity_that_cannot_be_is_refused(kind, quantity, code):
    with pytest.raises(RuleBroken) as refused:
        add_facts([NewFact(ItemFactory(), DAY, kind, D(quantity))])

    assert (refused.value.code, Movement.objects.count()) == (code, 0)


def test_one_location_is_counted_once_a_day():
    item, (shop, truck) = ItemFactory(), LocationFactory.create_batch(2)
    receipt(item, "10", "3")

    first = count_item(item, D(9), on=DAY)
    same = count_item(item, D(9), on=DAY, location=shop)
    better = count_item(item, D(8), on=DAY, location=shop)
    count_item(item, D(1), on=DAY, location=truck)
    count_item(item, D(7), on=DAY + timedelta(1))

    assert same == first
    assert better.quantity == 8
    assert ledger_of(item)[1:] == [("count", -2, -6, 8), ("count", 1, 3, 9), ("count", -1, -3, 8)]


def test_a_fact_that_was_undone_is_not_undone_again():
    item = ItemFactory()
    wrong = receipt(item, "10", "3")
    [reversal] = reverse_movements([wrong])

    for movement in (wrong, reversal):
        with pytest.raises(RuleBroken) as refused:
            reverse_movements([movement])
        assert refused.value.code == "already_undone"

    assert (ledger_of(item), Movement.objects.count()) == ([], 2)


def test_undoing_a_use_that_came_back_later_is_refused_and_changes_nothing():
    item = ItemFactory()
    receipt(item, "10", "3")
    [use] = add_facts([NewFact(item, DAY, "use", D(4), job="a")])
    add_facts([NewFact(item, DAY + timedelta(1), "visit return", D(1), job="a")])
    before = ledger_of(item)

    with pytest.raises(RuleBroken) as refused:
        reverse_movements([use])

    assert refused.value.code == "return_exceeds_use"
    assert (ledger_of(item), Movement.objects.count()) == (before, 3)


def test_a_return_on_the_day_of_its_use_is_refused():
    item = ItemFactory()
    receipt(item, "10", "3")
    add_facts([NewFact(item, DAY, "use", D(4), job="a")])

    with pytest.raises(RuleBroken):
        add_facts([NewFact(item, DAY, "visit return", D(1), job="a")])

    assert Movement.objects.count() == 2


@pytest.mark.parametrize("named", [True, False])
def test_a_return_comes_back_to_where_its_use_was_unless_it_names_a_location(named):
    item, (shop, truck) = ItemFactory(), LocationFactory.create_batch(2)
    receipt(item, "10", "3")
    add_facts([NewFact(item, DAY, "use", D(4), location=truck, job="a")])

    add_facts(
        [NewFact(item, DAY + timedelta(1), "visit return", D(1), location=shop if named else None, job="a")]
    )

    expected = {shop.pk: 11, truck.pk: -4} if named else {shop.pk: 10, truck.pk: -3}
    assert dict(Balance.objects.values_list("location", "quantity")) == expected


def test_nothing_is_counted_into_a_closed_day():
    Profile.objects.create(name="x", closed_through=DAY)

    with pytest.raises(RuleBroken) as refused:
        count_item(ItemFactory(), D(1), on=DAY)

    assert (refused.value.code, Movement.objects.count()) == ("day_closed", 0)
